"""The mark of a thin place runs along it, branch by branch, and stays where it is thin."""

import numpy as np

from scantling.judge import assigned, page, stocked
from scantling_rules.features import thin_web

JOB = stocked("ply", "plywood", 'kerf = "0.2 mm"', 'minimum = { web = "1.5 mm" }') + assigned(
    "#000", "ply"
)
# A plus with arms 1.4 mm wide that reach 10 mm from its middle: it is thin all over.
_ARMS = "M19.3 10h1.4v9.3h9.3v1.4h-9.3v9.3h-1.4v-9.3h-9.3v-1.4h9.3z"


def test_branches_are_marked_one_by_one(findings_of):
    found = findings_of(thin_web, page(f'<path d="{_ARMS}"/>'), JOB)
    lines = [np.asarray(line) for finding in found for line in finding.mark]
    assert lines
    for line in lines:
        # each arm is straight: no line of the mark turns back or jumps to another arm
        steps = np.diff(line, axis=0)
        off = np.abs(line - 20.0).min(axis=1)
        assert np.all(off < 0.75)
        assert np.all(np.einsum("ij,ij->i", steps[1:], steps[:-1]) >= -1e-9)
    total = sum(float(np.hypot(*np.diff(line, axis=0).T).sum()) for line in lines)
    assert total <= 40.0  # four arms of 10 mm

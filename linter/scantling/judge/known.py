"""Findings known before: a file that lists them, so that a run fails only on new ones.

The file is made for people as much as for machines: JSON with one finding a line, sorted by file,
rule and fingerprint, so that a finding more or less is a line more or less. `says` is there for
readers and is never compared. `measured` is how bad it was ("0.9 mm"): a finding that has become
worse since counts again. A `reason` may be written into any line, and into the file as a whole;
both are kept when the file is written again.
"""

from __future__ import annotations

import math
import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import field, replace
from operator import attrgetter
from typing import Any

from scantling.judge.finding import Finding
from scantling.plan.patterns import relative_to
from scantling.records import dataclass

FORM = 1
"""Counts up when the file's form changes."""
WORSE = 0.05
"""A finding is worse than it was known to be where its measure is off by this share more (common
practice, no source: what nobody sees on a part is not worth a stopped run) ..."""
ERROR = 0.04
"""... and by more than twice the error of measuring: outlines are flattened to within 0.01 mm, a
width between two of them is known to within 0.02 mm, and this compares two widths. (Of what is
not in mm nothing is known so exactly that less would matter.)"""
_ORDER = attrgetter("file", "rule", "fingerprint")
REASON = "known before, not yet mended"


class BadKnown(ValueError):
    """A file of known findings that cannot be used, in one clause with its name."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One known finding. `file` is relative to the folder of the list, with forward slashes;
    `measured` is a number and its unit, '' where nothing was measured or nobody wrote it down."""

    file: str
    rule: str
    fingerprint: str
    says: str = field(default="", compare=False)
    reason: str = field(default="", compare=False)
    measured: str = field(default="", compare=False)


@dataclass(slots=True)
class Known:
    """A list of known findings; `path` is where it stands."""

    path: str
    entries: tuple[Entry, ...] = ()
    reason: str = REASON
    _of: dict[str, dict[tuple[str, str], Entry]] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        self._of = {}
        for entry in self.entries:
            self._of.setdefault(entry.file, {})[entry.rule, entry.fingerprint] = entry

    @classmethod
    def read(cls, path: str | os.PathLike[str]) -> Known:
        """Read a list. Raises BadKnown."""
        import json

        name = os.fspath(path)
        try:
            with open(name, encoding="utf-8") as stream:
                data = json.load(stream)
        except OSError as error:
            raise BadKnown(f"{name}: cannot be read: {error.strerror or error}") from None
        except json.JSONDecodeError as error:
            raise BadKnown(f"{name}:{error.lineno}:{error.colno}: not JSON: {error.msg}") from None
        except (UnicodeDecodeError, RecursionError) as error:
            raise BadKnown(f"{name}: not JSON: {error}") from None
        return cls(name, *_checked(data, name))

    @classmethod
    def at(cls, path: str | os.PathLike[str]) -> Known:
        """The list that is to be written to a place: the older one there, or an empty one. Raises
        BadKnown."""
        name = os.fspath(path)
        return cls.read(name) if os.path.exists(name) else cls(name)

    def key(self, file: str) -> str:
        """A drawing's name as the list writes it."""
        return relative_to(file, os.path.dirname(os.path.abspath(self.path)))

    def of(self, file: str) -> Mapping[tuple[str, str], Entry]:
        """The entries of one drawing, by rule and fingerprint."""
        return self._of.get(self.key(file), {})

    def mark(self, findings: Sequence[Finding], file: str) -> tuple[Finding, ...]:
        """The findings of one drawing: each is 'new', 'unchanged', or 'updated' where it has become
        worse. Known ones that have not are accepted with their reason, unless they are accepted
        already or nobody may accept them."""
        own = self.of(file)
        return tuple(self._marked(f, own.get((f.rule, f.fingerprint))) for f in findings)

    def _marked(self, finding: Finding, entry: Entry | None) -> Finding:
        if entry is None:
            return replace(finding, baseline="new")
        if finding.accepted is not None or not finding.acceptable:
            return replace(finding, baseline="unchanged")
        if entry.measured and is_worse(finding, *_quantity(entry.measured)):
            number, unit = _quantity(entry.measured)
            was = f"was {number:.2f} {unit} when the list was written"
            return replace(finding, baseline="updated", message=f"{finding.message}; {was}")
        reason = entry.reason or self.reason
        return replace(finding, baseline="unchanged", accepted=reason, accepted_in="external")

    def gone(self, findings: Iterable[Finding], file: str) -> tuple[Entry, ...]:
        """Entries of one drawing that nothing in it matches any more."""
        here = {(finding.rule, finding.fingerprint) for finding in findings}
        return tuple(entry for key, entry in self.of(file).items() if key not in here)

    def renewed(self, judged: Iterable[tuple[str, Iterable[Finding]]]) -> Known:
        """The list after a run that did not mark its findings: what stands in each drawing that
        was judged, and the entries of all others that are still there, as they were. A drawing
        may come several times, judged on several stocks."""
        now: dict[Entry, None] = {}
        keys = set()
        for file, findings in judged:
            before, key = self.of(file), self.key(file)
            keys.add(key)
            for f in findings:
                if f.accepted is None and f.acceptable:
                    entry = before.get((f.rule, f.fingerprint))
                    reason = entry.reason if entry else ""
                    told = f.message, reason, _measure(f)
                    now.setdefault(Entry(key, f.rule, f.fingerprint, *told))
        kept = [e for e in self.entries if e.file not in keys and self.there(e.file)]
        return Known(self.path, tuple(sorted([*now, *kept], key=_ORDER)), self.reason)

    def there(self, key: str) -> bool:
        """Whether a drawing of the list exists."""
        return os.path.exists(os.path.join(os.path.dirname(os.path.abspath(self.path)), key))

    def text(self) -> str:
        """The file's content."""
        lines = ",\n".join(f"    {_line(entry)}" for entry in self.entries)
        head = _json(self.reason)
        body = f"\n{lines}\n  " if lines else ""
        return f'{{\n  "form": {FORM},\n  "reason": {head},\n  "known": [{body}]\n}}\n'


def is_worse(finding: Finding, before: float, unit: str) -> bool:
    """Whether a finding is farther from what is required, on the side on which it is now, than
    what was measured before, by more than WORSE and ERROR. Of another unit nobody can tell."""
    if finding.measured is None or finding.required is None or unit != finding.unit:
        return False
    more = finding.measured - before
    if finding.measured < finding.required:
        more = -more
    return more > max(WORSE * abs(before), ERROR)


def _measure(finding: Finding) -> str:
    """What was measured, as a list writes it."""
    found = finding.measured
    if found is None or not math.isfinite(found):
        return ""
    return f"{round(found, 4) + 0.0} {finding.unit}"


def _quantity(text: str) -> tuple[float, str]:
    """A measure of a list. Raises ValueError."""
    number, _, unit = text.partition(" ")
    value = float(number)
    if not math.isfinite(value):
        raise ValueError(text)
    return value, unit


def _line(entry: Entry) -> str:
    values = {
        "file": entry.file,
        "rule": entry.rule,
        "fingerprint": entry.fingerprint,
        "measured": entry.measured,
        "says": entry.says,
        "reason": entry.reason,
    }
    return _json({k: v for k, v in values.items() if v})


def _json(value: Any) -> str:
    """JSON on one line; as escapes only what UTF-8 does not have (bytes in odd file names)."""
    import json

    text = json.dumps(value, ensure_ascii=False)
    return text if text.isprintable() else json.dumps(value)


def _checked(data: Any, name: str) -> tuple[tuple[Entry, ...], str]:
    if not isinstance(data, dict) or not isinstance(data.get("known"), list):
        raise BadKnown(f'{name}: not a list of known findings: the key "known" is missing')
    if data.get("form") != FORM:
        raise BadKnown(f'{name}: "form" is {data.get("form")!r}, this version reads {FORM}')
    reason = data.get("reason", REASON)
    if not isinstance(reason, str) or not reason.strip():
        raise BadKnown(f'{name}: "reason" must be text, not empty')
    return tuple(_entries(data["known"], name)), reason


def _entries(known: list[Any], name: str) -> Iterator[Entry]:
    words = ("file", "rule", "fingerprint", "measured", "says", "reason")
    for number, one in enumerate(known, 1):
        if not isinstance(one, dict) or not all(isinstance(v, str) for v in one.values()):
            raise BadKnown(f'{name}: entry {number} of "known" is not a table of strings')
        for word in words[:3]:
            if not one.get(word):
                raise BadKnown(f'{name}: entry {number} of "known" has no "{word}"')
        if measured := one.get("measured"):
            try:
                _quantity(measured)
            except ValueError:
                raise BadKnown(
                    f'{name}: entry {number} of "known": "measured" is {measured!r}, it must be a '
                    'number and its unit, such as "0.9 mm"'
                ) from None
        yield Entry(**{word: one.get(word, "") for word in words})

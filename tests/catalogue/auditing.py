"""Audits of the working folder, as tests ask for them."""

from scantling.catalogue import audit_data, audit_page, audit_text
from scantling.catalogue.audit import Asked, Audit, run
from scantling.catalogue.table import chosen
from scantling.wanted import Wanted

FORMS = {
    "text": audit_text.render,
    "csv": audit_data.as_csv,
    "json": audit_data.as_json,
    "sarif": audit_data.as_sarif,
    "page": audit_page.render,
}


def audit(*trials: str, progress=None, **asked) -> Audit:
    wanted = asked.pop("wanted", Wanted())
    words = {"paths": (".",), "workers": 1, "trials": trials or ("",), "wanted": wanted}
    return run(Asked(**(words | asked)), progress)


def written(done: Audit, form: str) -> str:
    return b"".join(FORMS[form](done, chosen(done))).decode()

"""The language server: findings while a drawing is open in an editor, before it is saved.

It judges the text that the editor holds, with the job sheets as they are on disk. Hovering says
why and what to do; code actions accept a finding or mend it. It speaks the Language Server
Protocol on standard input and output.
"""

from __future__ import annotations

import asyncio
import contextlib
import os
import sys
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from urllib.parse import unquote

from lsprotocol import types as lsp
from pygls.lsp.server import LanguageServer
from pygls.workspace import TextDocument

from scantling import __version__
from scantling.drawings import ENDINGS
from scantling.judge.finding import Finding
from scantling.judge.known import Known
from scantling.linter import TROUBLES, Linter, Wanted
from scantling.live import told
from scantling.live.edits import accepting, mending
from scantling.live.positions import Positions
from scantling.mend.offers import RULES, with_fixes
from scantling.plan.jobsheet import FILE_NAME
from scantling.read import Source, Unreadable
from scantling.records import dataclass
from scantling.report.model import FileReport

PAUSE = 0.25
"""Seconds without a key before a changed drawing is judged."""


@dataclass(slots=True)
class Judged:
    """A document's text and what was found in it. `report` None: it is a job sheet."""

    text: str
    positions: Positions
    report: FileReport | None
    offered: bool = False
    """True once the findings of the report have their repairs with them"""


class Desk:
    """The documents that are open, and the one worker that judges them in turn."""

    def __init__(self, server: LanguageServer, wanted: Wanted, known: Known | None) -> None:
        self.server = server
        self.linter = Linter(wanted)
        self.known = known
        self.judged: dict[str, Judged] = {}
        self._turn: dict[str, int] = {}
        self._worker = ThreadPoolExecutor(1, thread_name_prefix="judge")

    async def judge(self, uri: str, pause: float = 0.0) -> None:
        """Judge a document and tell the editor, unless it changes again in the meantime."""
        turn = self._turn[uri] = self._turn.get(uri, 0) + 1
        if pause:
            await asyncio.sleep(pause)
        document = self._document(uri)
        if self._turn.get(uri) != turn or document is None:
            return
        text, path, version = document.source, document.path, document.version
        loop = asyncio.get_running_loop()
        done = await loop.run_in_executor(self._worker, self._look, text, path, uri)
        if self._turn.get(uri) == turn:
            self.judged[uri], found = done
            self.tell(uri, found, version)

    def _look(self, text: str, path: str, uri: str) -> tuple[Judged, list[lsp.Diagnostic]]:
        """Runs in the worker."""
        encoding = self.server.workspace.position_encoding or lsp.PositionEncodingKind.Utf16
        positions = Positions(text, getattr(encoding, "value", encoding))
        self.linter.refresh()
        if os.path.basename(path) == FILE_NAME:
            found = self.linter.job_problems(text, path)
            return Judged(text, positions, None), told.problems(found, positions)
        report = self.linter.text(text, path or uri)
        if self.known is not None:
            report = replace(report, findings=self.known.mark(report.findings, path or uri))
        return Judged(text, positions, report), told.diagnostics(report, positions, uri)

    def tell(self, uri: str, found: list[lsp.Diagnostic], version: int | None = None) -> None:
        self.server.text_document_publish_diagnostics(
            lsp.PublishDiagnosticsParams(uri=uri, diagnostics=found, version=version)
        )

    async def again(self) -> None:
        """Judge every open drawing again: a job sheet has changed."""
        await asyncio.gather(*(self.judge(uri) for uri in list(self.judged)))

    def close(self, uri: str) -> None:
        self._turn.pop(uri, None)
        if self.judged.pop(uri, None) is not None:
            self.tell(uri, [])

    async def current(self, uri: str) -> Judged | None:
        """What was found in the text as it is now."""
        known = self.judged.get(uri)
        document = self._document(uri)
        if document is not None and (known is None or known.text != document.source):
            await self.judge(uri)
            known = self.judged.get(uri)
        return known

    async def mendable(self, uri: str, wanted: lsp.Range) -> Judged | None:
        """The same with repairs beside the findings, which are made when an action is first
        asked for at a finding that may have one."""
        known = await self.current(uri)
        if (
            known is not None
            and not known.offered
            and any(finding.rule in RULES for finding in _at(known, wanted))
        ):
            document = self._document(uri)
            path = (document.path if document is not None else "") or uri
            loop = asyncio.get_running_loop()
            await loop.run_in_executor(self._worker, self._offer, known, path)
        return known

    def _offer(self, known: Judged, path: str) -> None:
        """Runs in the worker."""
        if known.offered or known.report is None:
            return
        try:
            source = Source.from_text(known.text, path)
            known.report = with_fixes(known.report, source, path, self.linter)
        except TROUBLES:  # the job sheet has changed in the meantime: all will be judged again
            return
        known.offered = True

    def _document(self, uri: str) -> TextDocument | None:
        """An open document that is a drawing or a job sheet."""
        document = self.server.workspace.text_documents.get(unquote(uri))
        if document is None:
            return None
        name = os.path.basename(document.path).lower()
        ours = document.language_id == "svg" or name.endswith((*ENDINGS, FILE_NAME))
        return document if ours else None


def serve(wanted: Wanted, known: Known | None = None) -> None:
    """Serve on standard input and output until the editor leaves. What anything else prints
    in the meantime, a rule of somebody's own perhaps, goes to stderr."""
    out = sys.stdout.buffer
    with contextlib.redirect_stdout(sys.stderr):
        make(wanted, known).start_io(stdout=out)


def make(wanted: Wanted, known: Known | None = None) -> LanguageServer:
    """A server that judges by what the command line asks for."""
    # Whole texts: a drawing may hold characters that some take for the end of a line.
    server = LanguageServer(
        told.NAME, __version__, text_document_sync_kind=lsp.TextDocumentSyncKind.Full
    )
    desk = Desk(server, wanted, known)

    @server.feature(lsp.TEXT_DOCUMENT_DID_OPEN)
    async def opened(params: lsp.DidOpenTextDocumentParams) -> None:
        await desk.judge(params.text_document.uri)

    @server.feature(lsp.TEXT_DOCUMENT_DID_CHANGE)
    async def changed(params: lsp.DidChangeTextDocumentParams) -> None:
        await desk.judge(params.text_document.uri, PAUSE)

    @server.feature(lsp.TEXT_DOCUMENT_DID_SAVE)
    async def saved(params: lsp.DidSaveTextDocumentParams) -> None:
        uri = params.text_document.uri
        await (desk.again() if uri.endswith(FILE_NAME) else desk.judge(uri))

    @server.feature(lsp.WORKSPACE_DID_CHANGE_WATCHED_FILES)
    async def moved(params: lsp.DidChangeWatchedFilesParams) -> None:
        await desk.again()

    @server.feature(lsp.TEXT_DOCUMENT_DID_CLOSE)
    def closed(params: lsp.DidCloseTextDocumentParams) -> None:
        desk.close(params.text_document.uri)

    @server.feature(lsp.TEXT_DOCUMENT_HOVER)
    async def hover(params: lsp.HoverParams) -> lsp.Hover | None:
        known = await desk.current(params.text_document.uri)
        found = _at(known, lsp.Range(params.position, params.position))
        if known is None or not found:
            return None
        rules = told.by_id(desk.linter.rule_texts())
        place = min(found, key=lambda f: f.place.end_offset - f.place.offset).place
        return lsp.Hover(
            contents=lsp.MarkupContent(
                lsp.MarkupKind.Markdown,
                "\n\n---\n\n".join(told.hover(f, rules.get(f.rule)) for f in found),
            ),
            range=told.range_of(place.offset, place.end_offset, known.positions),
        )

    @server.feature(
        lsp.TEXT_DOCUMENT_CODE_ACTION,
        lsp.CodeActionOptions(code_action_kinds=[lsp.CodeActionKind.QuickFix]),
    )
    async def actions(params: lsp.CodeActionParams) -> list[lsp.CodeAction]:
        uri = params.text_document.uri
        known = await desk.mendable(uri, params.range)
        if known is None:
            return []
        return [a for f in _at(known, params.range) for a in _actions(known, f, uri)]

    return server


def _at(known: Judged | None, wanted: lsp.Range) -> list[Finding]:
    """The findings that stand at a place; those with the smaller place first."""
    if known is None or known.report is None:
        return []
    start = known.positions.offset(wanted.start.line, wanted.start.character)
    end = known.positions.offset(wanted.end.line, wanted.end.character)
    found = [
        finding
        for finding in known.report.standing()
        if finding.place.offset <= end and start <= finding.place.end_offset
    ]
    return sorted(found, key=lambda f: f.place.end_offset - f.place.offset)


def _actions(known: Judged, finding: Finding, uri: str) -> list[lsp.CodeAction]:
    """Mend it where that can be done, and accept it where that is allowed."""
    about = [
        d
        for d in told.diagnostics(known.report, known.positions, uri)  # type: ignore[arg-type]
        if d.data == finding.fingerprint
    ]
    offered = [(fix.message, mending(fix), True) for fix in finding.fixes]
    if finding.acceptable:
        with contextlib.suppress(Unreadable):  # no place to write it
            edits = accepting(Source.from_text(known.text), finding)
            offered.append((f"Accept this {finding.rule}, with a reason", edits, False))
    return [
        lsp.CodeAction(
            title=title,
            kind=lsp.CodeActionKind.QuickFix,
            diagnostics=about,
            is_preferred=preferred,
            edit=told.changes(edits, known.positions, uri),
        )
        for title, edits, preferred in offered
    ]

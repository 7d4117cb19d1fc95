"""The language server, asked by a real client over standard input and output."""

from __future__ import annotations

import asyncio
import sys
import threading
from collections.abc import Callable, Coroutine, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

pytest.importorskip("pygls", reason="the extra scantling[editor] is not installed")

from lsprotocol import types as lsp
from pygls.lsp.client import LanguageClient

from scantling.judge.finding import Finding, Fix, Level, Place
from scantling.live.editor import Judged, _actions
from scantling.live.positions import Positions
from scantling.report.model import FileReport

PATIENCE = 30.0
HEAD = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="40mm" viewBox="0 0 40 40">\n'
    '<rect x="5" y="5" width="30" height="20"/>\n'
)
TEXT = HEAD + '<!-- 🌙 --><text id="name" x="5" y="35" font-size="5">Moon</text>\n</svg>\n'


class Editor:
    """An editor with one server, for tests that are written one step after the other."""

    def __init__(self) -> None:
        self.client = LanguageClient("test-editor", "1")
        self.told: dict[str, lsp.PublishDiagnosticsParams] = {}
        self.news = threading.Condition()
        self.loop = asyncio.new_event_loop()
        self.thread = threading.Thread(target=self.loop.run_forever, daemon=True)
        self.thread.start()

        @self.client.feature(lsp.TEXT_DOCUMENT_PUBLISH_DIAGNOSTICS)
        def told(params: lsp.PublishDiagnosticsParams) -> None:
            with self.news:
                self.told[params.uri] = params
                self.news.notify_all()

    def call(self, work: Coroutine[Any, Any, Any]) -> Any:
        return asyncio.run_coroutine_threadsafe(work, self.loop).result(PATIENCE)

    def say(self, notify: Callable[[Any], None], params: Any) -> None:
        """A notification, sent from the client's own thread."""
        self.loop.call_soon_threadsafe(notify, params)

    def start(self, root: Path, *options: str) -> lsp.InitializeResult:
        server = self.client.start_io(
            sys.executable, "-m", "scantling", "editor", *options, cwd=str(root)
        )
        self.call(server)
        answer = self.call(
            self.client.initialize_async(
                lsp.InitializeParams(
                    capabilities=lsp.ClientCapabilities(), root_uri=root.as_uri(), process_id=None
                )
            )
        )
        self.say(self.client.initialized, lsp.InitializedParams())
        return answer

    def stop(self) -> int | None:
        self.call(self.client.shutdown_async(None))
        self.say(self.client.exit, None)
        server = self.client._server
        code = self.call(asyncio.wait_for(server.wait(), PATIENCE))
        self.call(self.client.stop())
        self.loop.call_soon_threadsafe(self.loop.stop)
        self.thread.join(PATIENCE)
        self.loop.close()
        return code

    def open(self, file: Path, text: str, language: str = "svg") -> list[lsp.Diagnostic]:
        document = lsp.TextDocumentItem(file.as_uri(), language, 1, text)
        self.told.pop(document.uri, None)
        self.say(self.client.text_document_did_open, lsp.DidOpenTextDocumentParams(document))
        return self.wait(file, 1)

    def change(self, file: Path, text: str, version: int) -> list[lsp.Diagnostic]:
        self.say(
            self.client.text_document_did_change,
            lsp.DidChangeTextDocumentParams(
                lsp.VersionedTextDocumentIdentifier(version, file.as_uri()),
                [lsp.TextDocumentContentChangeWholeDocument(text)],
            ),
        )
        return self.wait(file, version)

    def save(self, file: Path) -> None:
        document = lsp.TextDocumentIdentifier(file.as_uri())
        self.say(self.client.text_document_did_save, lsp.DidSaveTextDocumentParams(document))

    def wait(self, file: Path, version: int | None) -> list[lsp.Diagnostic]:
        """What is told of a version of a file, once it is."""
        with self.news:
            told = self.news.wait_for(
                lambda: (t := self.told.get(file.as_uri())) and t.version == version and t, PATIENCE
            )
        assert told, f"nothing was told of version {version} of {file.name}"
        return list(told.diagnostics)

    def close(self, file: Path) -> list[lsp.Diagnostic]:
        document = lsp.TextDocumentIdentifier(file.as_uri())
        self.say(self.client.text_document_did_close, lsp.DidCloseTextDocumentParams(document))
        return self.wait(file, None)

    def hover(self, file: Path, at: lsp.Position) -> lsp.Hover | None:
        document = lsp.TextDocumentIdentifier(file.as_uri())
        return self.call(self.client.text_document_hover_async(lsp.HoverParams(document, at)))

    def actions(self, file: Path, place: lsp.Range) -> list[lsp.CodeAction]:
        params = lsp.CodeActionParams(
            lsp.TextDocumentIdentifier(file.as_uri()), place, lsp.CodeActionContext([])
        )
        return self.call(self.client.text_document_code_action_async(params)) or []


@pytest.fixture(scope="module")
def root(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("Entwürfe 🌙")


@pytest.fixture(scope="module")
def editor(root: Path) -> Iterator[Editor]:
    editor = Editor()
    capabilities = editor.start(root, "--stock", "card-1.5").capabilities
    assert capabilities.hover_provider
    assert capabilities.code_action_provider
    yield editor
    assert editor.stop() == 0


def of(found: list[lsp.Diagnostic], rule: str) -> list[lsp.Diagnostic]:
    return [one for one in found if one.code == rule]


def taken(text: str, place: lsp.Range) -> str:
    """The text of a range, counted by the client in UTF-16."""
    positions = Positions(text)
    start = positions.offset(place.start.line, place.start.character)
    return text[start : positions.offset(place.end.line, place.end.character)]


def test_findings_of_a_text_that_was_never_saved(editor: Editor, root: Path):
    file = root / "mond.svg"
    (found,) = of(editor.open(file, TEXT), "live-text")
    assert found.source == "scantling"
    assert found.severity == lsp.DiagnosticSeverity.Error
    assert taken(TEXT, found.range).startswith('<text id="name"')
    assert found.range.start == lsp.Position(2, len("<!-- 🌙 -->") + 1)  # two units for the moon
    assert not file.exists()
    assert of(editor.change(file, HEAD + "</svg>", 2), "live-text") == []
    assert of(editor.change(file, TEXT, 3), "live-text")
    assert editor.close(file) == []


def test_a_text_that_is_half_typed(editor: Editor, root: Path):
    file = root / "half.svg"
    (found,) = editor.open(file, TEXT.replace("</text>", "</tex>"))
    assert found.severity == lsp.DiagnosticSeverity.Error
    assert "not XML" in found.message
    assert found.range.start.line == 2
    assert of(editor.change(file, TEXT, 2), "live-text")
    editor.close(file)


def test_hovering_says_why_and_what_to_do(editor: Editor, root: Path):
    file = root / "hover.svg"
    (found,) = of(editor.open(file, TEXT), "live-text")
    hover = editor.hover(file, found.range.start)
    assert hover is not None
    assert isinstance(hover.contents, lsp.MarkupContent)
    for words in ("[live-text]", "**Why**", "**What to do**", "outlines"):
        assert words in hover.contents.value
    assert hover.range == found.range
    editor.close(file)


def test_accepting_takes_a_reason(editor: Editor, root: Path):
    file = root / "accept.svg"
    (found,) = of(editor.open(file, TEXT), "live-text")
    (action,) = [a for a in editor.actions(file, found.range) if "live-text" in a.title]
    assert action.kind == lsp.CodeActionKind.QuickFix
    assert [d.code for d in action.diagnostics or ()] == ["live-text"]
    assert action.edit is not None
    (edit,) = (action.edit.changes or {})[file.as_uri()]
    positions = Positions(TEXT)
    at = positions.offset(edit.range.start.line, edit.range.start.character)
    assert edit.range.start == edit.range.end
    text = TEXT[:at] + edit.new_text + TEXT[at:]
    assert '<text data-scantling-accept="live-text: say why" id="name"' in text

    asked = editor.change(file, text, 2)
    assert of(asked, "live-text"), "without a reason it stands"
    assert of(asked, "idle-acceptance")
    told = editor.change(file, text.replace("say why", "set by the engraver"), 3)
    assert of(told, "live-text") == of(told, "idle-acceptance") == []
    editor.close(file)


def test_a_repair_is_offered_and_mends(editor: Editor, root: Path):
    file = root / "mend.svg"
    text = HEAD + '<!-- 🌙 --><path d="M5 30H15V38"/>\n</svg>\n'
    (found,) = of(editor.open(file, text), "open-path")
    (action,) = [a for a in editor.actions(file, found.range) if a.is_preferred]
    assert action.title == "Close the outline as its fill does"
    assert [d.code for d in action.diagnostics or ()] == ["open-path"]
    assert action.edit is not None
    (edit,) = (action.edit.changes or {})[file.as_uri()]
    positions = Positions(text)
    at = positions.offset(edit.range.start.line, edit.range.start.character)
    assert edit.range.start == edit.range.end
    mended = text[:at] + edit.new_text + text[at:]
    assert 'V38Z"' in mended
    assert of(editor.change(file, mended, 2), "open-path") == []
    editor.close(file)


def test_answers_are_about_the_text_as_it_is_now(editor: Editor, root: Path):
    """A question right after a change, before the pause for typing is over."""
    file = root / "now.svg"
    editor.open(file, HEAD + "</svg>")
    editor.say(
        editor.client.text_document_did_change,
        lsp.DidChangeTextDocumentParams(
            lsp.VersionedTextDocumentIdentifier(2, file.as_uri()),
            [lsp.TextDocumentContentChangeWholeDocument(TEXT)],
        ),
    )
    titles = [
        a.title for a in editor.actions(file, lsp.Range(lsp.Position(2, 12), lsp.Position(2, 12)))
    ]
    assert any("live-text" in title for title in titles)
    editor.close(file)


def test_a_job_sheet_is_checked_and_followed(editor: Editor, root: Path):
    folder = root / "with job"
    folder.mkdir()
    job, file = folder / "jobsheet.toml", folder / "clock.svg"
    assert of(editor.open(file, TEXT), "live-text")
    wrong = '[rules.live-txt]\nlevel = "off"\n'
    (problem,) = editor.open(job, wrong, "toml")
    assert "live-text" in problem.message
    assert problem.range.start.line == 0
    right = '[rules.live-text]\nlevel = "off"\n'
    assert editor.change(job, right, 2) == []
    job.write_text(right, encoding="utf-8")
    editor.told.pop(file.as_uri())
    editor.save(job)
    assert of(editor.wait(file, 1), "live-text") == []
    editor.close(job)
    editor.close(file)


def test_other_files_are_left_alone(editor: Editor, root: Path):
    notes, file = root / "notes.md", root / "after.svg"
    document = lsp.TextDocumentItem(notes.as_uri(), "markdown", 1, TEXT)
    editor.say(editor.client.text_document_did_open, lsp.DidOpenTextDocumentParams(document))
    editor.open(file, TEXT)
    assert notes.as_uri() not in editor.told
    editor.close(file)


def test_mending_is_offered_where_a_rule_can():
    text = HEAD + '<path d="M5 5H9V9"/></svg>'
    start = text.index('V9"')
    place = Place(3, 1, 3, 3, start, start + 2)
    fix = Fix(message="Close the outline", replacements=((place, "V9Z"),))
    finding = Finding(
        rule="open-path",
        level=Level.ERROR,
        message="outline is open",
        file="a.svg",
        place=place,
        fixes=(fix,),
        fingerprint="aa",
    )
    report = FileReport(file="a.svg", findings=(finding,))
    mend, accept = _actions(Judged(text, Positions(text), report), finding, "file:///a.svg")
    assert (mend.title, mend.is_preferred) == ("Close the outline", True)
    assert mend.edit is not None
    (edit,) = (mend.edit.changes or {})["file:///a.svg"]
    assert (taken(text, edit.range), edit.new_text) == ("V9", "V9Z")
    assert "open-path" in accept.title
    stays = replace(finding, acceptable=False)
    (mend,) = _actions(Judged(text, Positions(text), report), stays, "file:///a.svg")
    assert mend.title == "Close the outline"

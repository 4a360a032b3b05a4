"""Rule pages: each has all that it should, links lead to pages that are there, and they come out the same each time."""

from __future__ import annotations

import json
import os
import re
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from linter.cli import main
from linter.report.markdown import fenced, inline
from linter.report.rulepage import families, related, rule_json, rule_markdown, rule_page, write_pages
from linter.rules.registry import Rule, pages


def run(*arguments: str) -> Result:
    return CliRunner().invoke(main, ["explain", *arguments])


def flat(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize("rule", pages(), ids=lambda r: r.name)
def test_every_rule_says_all_of_itself(rule: Rule) -> None:
    text = flat("\n".join(rule_page(rule)))
    for words in (rule.demand, rule.reason, rule.clause, rule.status, rule.mend, rule.measure):
        assert words and flat(words) in text
    for example in (rule.bad, rule.good):
        assert flat(example) in text
    data = json.loads(rule_json(rule))
    assert data["measure"] == rule.measure and data["bad"] == rule.bad and data["related"] == related(rule)
    markdown = rule_markdown(rule)
    blocks = re.findall(r"^```boat\n(.*?)\n```$", markdown, re.M | re.S)
    assert blocks == [rule.bad, rule.good]
    assert [h for h in re.findall(r"^## (.*)$", markdown, re.M) if h != "Read with it"] == [
        "Whose demand", "Wrong", "Right", "What to measure on board", "Mend",
    ]  # fmt: skip


def test_families_name_rules_and_every_rule_has_one() -> None:
    names = {r.name for r in pages()}
    named = {name for members in families().values() for name in members}
    assert named <= names
    assert names == named, f"in no family: {names - named}"
    for rule in pages():
        assert rule.name not in related(rule)
        for name in related(rule):
            (other,) = [r for r in pages() if r.name == name]
            assert rule.name in related(other)


def test_the_pages_of_a_site(tmp_path: Path) -> None:
    folder = tmp_path / "site" / "rules"
    made = run("--all", "--format", "markdown", "-o", str(folder))
    assert made.exit_code == 0 and made.output == f"{len(pages()) + 1} pages\n"
    files = {p.name: p.read_text(encoding="utf-8") for p in folder.iterdir()}
    assert set(files) == {"index.md", *(f"{r.name}.md" for r in pages())}
    for text in files.values():
        targets = re.findall(r"\]\(([^)]*)\)", text)
        assert targets and set(targets) <= set(files)
        assert text.endswith("\n") and not text.endswith("\n\n")
    assert all(f"]({r.name}.md)" in files["index.md"] for r in pages())
    assert "not an approval" in files["index.md"]


def test_pages_that_stay_the_same_are_left_alone(tmp_path: Path) -> None:
    write_pages(str(tmp_path))
    before = {p: p.stat().st_mtime_ns for p in tmp_path.iterdir()}
    changed = tmp_path / "voltage-drop.md"
    whole = changed.read_bytes()
    changed.write_text("half")
    write_pages(str(tmp_path))
    assert changed.read_bytes() == whole
    assert all(p.stat().st_mtime_ns == at for p, at in before.items() if p != changed)


def test_a_folder_that_cannot_be_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "file").write_text("")
    made = run("--all", "--format", "markdown", "-o", str(tmp_path / "file"))
    assert made.exit_code == 2 and "cannot be written" in made.output

    def broken(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", broken)
    made = run("--all", "--format", "markdown", "-o", str(tmp_path / "site"))
    assert made.exit_code == 2 and not list((tmp_path / "site").iterdir())


def test_one_rule_in_each_form(tmp_path: Path) -> None:
    assert run("voltage-drop", "--format", "markdown").output.startswith("# voltage-drop\n")
    assert json.loads(run("voltage-drop", "--format", "json").output)["name"] == "voltage-drop"
    assert "On board: " in run("voltage-drop").output
    out = tmp_path / "page.md"
    assert run("voltage-drop", "--format", "markdown", "-o", str(out)).exit_code == 0
    assert out.read_text(encoding="utf-8") == run("voltage-drop", "--format", "markdown").output


@pytest.mark.parametrize(
    ("words", "shown"),
    [
        ("1. One", "1\\. One"),
        ("- one", "\\- one"),
        ("+ 2.5 mΩ", "\\+ 2.5 mΩ"),
        ("= 3", "\\= 3"),
        ("# one", "&#35; one"),
        ("<b>&amp;", "&lt;b&gt;&amp;amp;"),
        ("http://x.example", "http&#58;//x&#46;example"),
        ("a *b* _c_ [d](e) `f` | ~g~", "a \\*b\\* \\_c\\_ \\[d\\](e) \\`f\\` \\| \\~g\\~"),
        ("a\nb\x1b[0m", "a\\\\u\\{a\\}b\\\\u\\{1b\\}\\[0m"),
        ("1.05 × 12 V: yes", "1.05 × 12 V: yes"),
    ],
)
def test_words_in_markdown(words: str, shown: str) -> None:
    assert inline(words) == shown


def test_a_fence_is_longer_than_any_in_the_text() -> None:
    assert fenced("a\n````\nb") == ["`````", "a", "````", "b", "`````"]
    assert fenced("\x1b]0;x\x07", "boat") == ["```boat", "\\u{1b}]0;x\\u{7}", "```"]

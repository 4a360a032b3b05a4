"""Findings as JUnit XML, which the dashboards of continuous integration show.

A suite a design.  A rule that found nothing is one case that passed; each element at which a rule found something is a
case of its own, so that a dashboard says which failures are new.  What fails `check` is a failure; what is accepted or
known is skipped, with the reason; what is milder than the threshold passes and is printed.  A text that could not be
read, and a rule that broke, are errors.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import TYPE_CHECKING

from linter.report.caution import CAUTION
from linter.report.places import relative, shown
from linter.report.standing import Standing, State, fails
from linter.rules.finding import Finding
from linter.rules.registry import Rule
from linter.source.span import Mistake

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

READ = "text-read-in-full"
COUNTED = ("tests", "failures", "errors", "skipped")


def junit(standings: Sequence[Standing], ran: Sequence[Rule], fail_on: str) -> bytes:
    """The whole file, UTF-8.  ``ran``: the rules that were chosen; ``fail_on``: the threshold of `check`."""
    from xml.etree.ElementTree import Element, indent, tostring

    root = Element("testsuites", name="wireworthy check")
    root.extend(_suite(s, ran, fail_on) for s in standings)
    for count in COUNTED[:3]:
        root.set(count, str(sum(int(suite.get(count, "0")) for suite in root)))
    indent(root)
    made: bytes = tostring(root, encoding="utf-8", xml_declaration=True)
    return made + b"\n"


def _suite(standing: Standing, ran: Sequence[Rule], fail_on: str) -> Element:
    from xml.etree.ElementTree import Element, SubElement

    from linter.rules.acceptance_pages import PAGES

    result = standing.result
    path = result.design.path
    name = shown((relative(path) or path) if path != "-" else "standard input")
    suite = Element("testsuite", name=name, tests="0", failures="0", errors="0", skipped="0", file=name)
    properties = SubElement(suite, "properties")
    books = ", ".join(b.name for b in result.study.rulebooks)
    for key, value in (("boat", result.design.boat), ("rulebooks", books), ("caution", CAUTION)):
        SubElement(properties, "property", name=key, value=shown(value))
    # the part before the last point is shown as a folder
    group = name.removesuffix(".boat").replace(".", "_").replace("/", ".")
    cases = _Cases(suite, group)
    cases.read(result.mistakes)
    broken, by_rule = dict(result.broken), defaultdict(list)
    for finding, state in standing.pairs():
        by_rule[finding.rule].append((finding, state))
    for rule in [*(r.name for r in ran), *(r.name for r in PAGES)]:
        found = by_rule.pop(rule, [])
        if rule in broken:
            cases.case(rule, "error", "rule-broke", f"rule {rule} broke", broken[rule])
        elif rule in result.quiet:
            cases.case(rule, "skipped", "", "not run: the design could not be read in full", "")
        elif not found:
            cases.case(rule)
        cases.found(found, fail_on)
    for count, number in zip(COUNTED, cases.counts, strict=True):
        suite.set(count, str(number))
    return suite


class _Cases:
    """Adds test cases to a suite and counts them."""

    def __init__(self, suite: Element, group: str) -> None:
        self._suite, self._group = suite, group
        self.counts = [0, 0, 0, 0]

    def case(self, name: str, kind: str = "", type_: str = "", message: str = "", text: str = "") -> None:
        """A case that passed where ``kind`` is empty; ``text`` has been made safe line by line."""
        from xml.etree.ElementTree import SubElement

        case = SubElement(self._suite, "testcase", classname=self._group, name=shown(name, 200))
        self.counts[0] += 1
        if not kind:
            if text:
                SubElement(case, "system-out").text = _lines(text)
            return
        self.counts[("failure", "error", "skipped").index(kind) + 1] += 1
        why = SubElement(case, kind, message=shown(message))
        if type_:
            why.set("type", type_)
        why.text = _lines(text)

    def read(self, mistakes: Sequence[Mistake]) -> None:
        """Whether the text could be read: a rule alone cannot say that."""
        lost = [m for m in mistakes if m.loses]
        text = "\n".join(
            f"{m.span}: {'error' if m.loses else 'remark'}: {shown(m.message)}"
            + (f"\n  mend: {shown(m.mend)}" if m.mend else "")
            for m in mistakes
        )
        if lost:
            many = f"{len(lost)} error{'s' if len(lost) > 1 else ''} in the text, the first: "
            self.case(READ, "error", "not-understood", f"{many}{lost[0].message}", text)
        else:
            self.case(READ, text=text)

    def found(self, found: Sequence[tuple[Finding, State]], fail_on: str) -> None:
        """A case for each element, and within it the gravest first."""
        by_element = defaultdict(list)
        for finding, state in found:
            by_element[finding.subject].append((finding, state))
        for element, several in by_element.items():
            several.sort(key=lambda p: (not fails(p[0], p[1], fail_on), bool(p[0].accepted), p[0].severity.rank))
            first, state = several[0]
            name = f"{first.rule} at {element}"
            text = "\n".join(_text(f, s) for f, s in several)
            message = f"{_words(first, state)}: {first.message}"
            if fails(first, state, fail_on):
                self.case(name, "failure", first.severity.value, message, text)
            elif first.accepted:
                self.case(name, "skipped", "accepted", f"{message} (accepted: {first.accepted})", text)
            elif state is State.KNOWN:
                self.case(name, "skipped", "known", message, text)
            else:
                self.case(name, text=text)


def _words(finding: Finding, state: State) -> str:
    if finding.accepted:
        return f"accepted {finding.severity.value}"
    return f"known {finding.severity.value}" if state is State.KNOWN else finding.severity.value


def _text(finding: Finding, state: State) -> str:
    lines = [f"{finding.span}: {_words(finding, state)}: {shown(finding.message)} [{finding.rule}]"]
    if finding.accepted:
        lines.append(f"  accepted: {shown(finding.accepted)}")
    if finding.mend:
        lines.append(f"  mend: {shown(finding.mend)}")
    if finding.clause:
        lines.append(f"  clause: {shown(finding.clause)} ({finding.status})")
    lines += [f"  {span}: {shown(what)}" for span, what in finding.related]
    return "\n".join(lines)


def _lines(text: str) -> str:
    return "\n".join(shown(line) for line in text.split("\n"))

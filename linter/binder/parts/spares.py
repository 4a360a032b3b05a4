"""The spares box: fuses to carry, breakers that reset instead, and fuses that could be confused."""

from __future__ import annotations

from linter.binder import shown
from linter.binder.model import MEANING, Block, Column, Kind, Paragraph, Section, Table, figure
from linter.binder.spare_list import SpareList, spare_list, title_of
from linter.binder.spare_rule import Amount, shipped_rule
from linter.binder.subject import Subject
from linter.binder.words import joined, quantity
from linter.drawing.text import clean

FUSES = (
    Column("class", "Class"),
    Column("rated A", "Rated", "A", Kind.FIGURE),
    Column("voltage V", "Voltage", "V", Kind.FIGURE),
    Column("fitted", "Fitted", kind=Kind.FIGURE, decimals=0),
    Column("carry", "Carry", kind=Kind.FIGURE, decimals=0),
    Column("used", "Where it is used", kind=Kind.NAME),
    Column("part", "Part"),
    Column("aboard", "Aboard", kind=Kind.BOX, width=14),
)
BREAKERS = (
    Column("class", "Class"),
    Column("rated A", "Rated", "A", Kind.FIGURE),
    Column("fitted", "Fitted", kind=Kind.FIGURE, decimals=0),
    Column("used", "Where it is used", kind=Kind.NAME),
    Column("part", "Part"),
    Column("remark", "Remark"),
)
RULE = (
    Column("class", "Class"),
    Column("share %", "Of those fitted", "%", Kind.FIGURE),
    Column("least", "At least", kind=Kind.FIGURE, decimals=0),
    Column("most", "At most", kind=Kind.FIGURE, decimals=0),
)
CONFUSED = (
    Column("fuse", "Fuse", kind=Kind.NAME),
    Column("feeds", "Feeds"),
    Column("rated A", "Rated", "A", Kind.FIGURE),
    Column("holder A", "Holder takes", "A", Kind.FIGURE),
    Column("larger", "Larger ones on board that fit it"),
    Column("then", "What the largest of them would do there"),
)
DATA = (
    Column("kind", "Kind"), Column("class", "Class"), Column("rated A", "Rated", "A", Kind.FIGURE),
    Column("voltage V", "Voltage", "V", Kind.FIGURE), Column("fitted", "Fitted", kind=Kind.FIGURE, decimals=0),
    Column("carry", "Carry", kind=Kind.FIGURE, decimals=0), Column("used", "Where it is used", kind=Kind.NAME),
    Column("part", "Part"), Column("confused", "Larger ones that fit in the same holder"),
)  # fmt: skip


def section(subject: Subject) -> Section:
    choice = subject.choice
    made = spare_list(subject.study, choice.rule or shipped_rule(), choice.voyage)
    rule = made.rule
    blocks: list[Block] = [
        Paragraph(
            f"How many to carry is reckoned for a voyage called {made.voyage}, by the rule below ({rule.clause}, "
            f"{rule.status}). It is a beginning: remoteness, the crew and the insurer may ask for more."
        ),
        fuses_table(made),
        rule_table(made),
        breakers_table(made),
        confused_table(made),
    ]
    return Section("spares", "Spare fuses", blocks, data_table(made), landscape=True)


def rule_table(made: SpareList) -> Table:
    """The rule, as far as classes on board need it."""
    table = Table(RULE, title=f"The rule: {made.rule.title}, {made.voyage}", empty="No fuse needs a rule.")
    for device_class in dict.fromkeys(s.device_class for s in made.fuses):
        amount = made.rule.amount(made.voyage, device_class)
        table.add(
            title_of(device_class, "fuse"), figure(amount.share * 100), figure(float(amount.least)),
            figure(float(amount.most)),
        )  # fmt: skip
    return table


def fuses_table(made: SpareList) -> Table:
    table = Table(FUSES, title="Fuses to carry", empty="There is no fuse on board.")
    for one in made.fuses:
        sort = joined([title_of(one.device_class, "fuse"), one.speed])
        carry = figure(None if one.carry is None else float(one.carry), needed=True)
        table.add(
            sort, figure(one.rated_a, needed=True), figure(one.voltage_v), figure(float(one.fitted)), carry,
            joined(map(clean, one.used)), clean(one.part) or "no part named", "",
        )  # fmt: skip
    if made.fuses:
        fitted, carry_sum = sum(s.fitted for s in made.fuses), sum(s.carry or 0 for s in made.fuses)
        table.add(
            "In all", figure(None), figure(None), figure(float(fitted)), figure(float(carry_sum)), "", "", "",
            strong=True,
        )  # fmt: skip
    return table


def breakers_table(made: SpareList) -> Table:
    table = Table(BREAKERS, title="Breakers, which are reset instead", empty="There is no breaker on board.")
    for one in made.breakers:
        by_itself = f"closes again by itself: {joined(map(clean, one.by_itself))}" if one.by_itself else ""
        table.add(
            title_of(one.device_class, "breaker"), figure(one.rated_a, needed=True), figure(float(len(one.used))),
            joined(map(clean, one.used)), clean(one.part) or "no part named", by_itself,
        )  # fmt: skip
    if made.breakers:
        table.notes.append(
            "Find out why one opened before it is closed again. A breaker that has opened a short circuit may be worn: "
            "its maker says whether it must be replaced."
        )
    return table


def confused_table(made: SpareList) -> Table:
    table = Table(
        CONFUSED, title="Fuses that could be confused", empty="No larger fuse on board fits another's holder."
    )
    for one in made.confusable:
        larger = [f"{clean(n)} {quantity(a, 'A')}{' beside it' if n in one.beside else ''}" for n, a in one.larger]
        then = []
        if one.harmed:
            harmed = joined(f"{clean(n)} (at most {a:.3g} A)" for n, a in one.harmed)
            then.append(f"no longer guard {harmed}")
        if one.against:
            then.append(f"be more than the maker of {joined(map(clean, one.against))} asks for")
        table.add(
            clean(one.name), joined(map(clean, one.feeds)), figure(one.rated_a), figure(one.holder_a, needed=True),
            joined(larger), "; ".join(then) or "still guard its conductors",
        )  # fmt: skip
    if made.confusable:
        table.notes.append(
            "Fuses of one class are taken to fit one another's holders up to the rating that the holder takes; where "
            "that is not stated (?), all of the class. Write the rating beside each holder."
        )
    return table


def data_table(made: SpareList) -> Table:
    table = Table(DATA)
    confused = {c.name: c for c in made.confusable}
    for one in made.fuses:
        larger = dict.fromkeys(f"{clean(n)} {a:g} A" for u in one.used if u in confused for n, a in confused[u].larger)
        table.add(
            "fuse", joined([title_of(one.device_class, "fuse"), one.speed]), figure(one.rated_a),
            figure(one.voltage_v), figure(float(one.fitted)), figure(None if one.carry is None else float(one.carry)),
            joined(map(clean, one.used)), clean(one.part), joined(larger),
        )  # fmt: skip
    for row in made.breakers:
        table.add(
            "breaker", title_of(row.device_class, "breaker"), figure(row.rated_a), figure(None),
            figure(float(len(row.used))), figure(0.0), joined(map(clean, row.used)), clean(row.part), "",
        )  # fmt: skip
    return table


def in_words(made: SpareList) -> str:
    """For the terminal: the three tables, and the rule they go by."""
    from linter.report.rows import Rows, as_table

    lines = []
    for table in (fuses_table(made), breakers_table(made), confused_table(made)):
        columns = [c for c in table.columns if c.kind is not Kind.BOX]
        places = [n for n, c in enumerate(table.columns) if c.kind is not Kind.BOX]
        cells = [[(row[n].lead + row[n].text).replace("\u00a0", " ") for n in places] for row in shown.rows(table)]
        heads = tuple(f"{c.head} {c.unit}".strip() for c in columns)
        figures = frozenset(h for h, c in zip(heads, columns, strict=True) if c.kind is Kind.FIGURE)
        lines.append(f"{table.title}\n\n" + (as_table(Rows(heads, figures, cells)) if cells else f"{table.empty}\n"))
        lines += [f"{note}\n" for note in [*(f"{m.value} {MEANING[m]}." for m in table.marks()), *table.notes]]
        lines.append("\n")
    amounts = made.rule.amounts[made.voyage]
    lines.append(
        f"Carried for a voyage called {made.voyage}: {_amount_words(amounts[''])}, but where the table has another "
        f"rule for a class. {made.rule.title}: {made.rule.status}.\n"
    )
    return "".join(lines)


def _amount_words(amount: Amount) -> str:
    return f"{amount.share * 100:.0f} % of those fitted, at least {amount.least}, at most {amount.most}"

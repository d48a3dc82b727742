"""Words of a guided session: every word that a question takes is explained."""

from __future__ import annotations

from pathlib import Path

from tallstack.cli.guide.answers import kind_of
from tallstack.cli.guide.guide import Guide
from tallstack.cli.guide.needs import Need
from tallstack.cli.guide.questions import ROUTES, Question, questions
from tallstack.cli.guide.told import ENTRIES, WORDS
from tallstack.cli.guide.words import help_lines, question_lines
from tallstack.cli.job.entries.fields import Choice

from ...sessions import CLEAR, EXHAUST, INTAKE, STACK, START, after, asked


def test_every_question_tells_how_the_range_and_what_for() -> None:
    guide = Guide(Path("x.toml"))
    for line in CLEAR:
        text = "\n".join(guide.question()).split("\n")
        assert text[0] == ""
        assert all(len(one) <= 80 and one.isascii() for one in text)
        assert guide.asked is not None
        if len(guide.asked.loc) > 1 and guide.asked.name not in ("name", "other stack"):
            assert any(one.startswith("  How: ") for one in text)
            assert any(one.startswith("  For: ") for one in text)
        guide.say(line)
    guide = after(*START)
    assert "Usually: 50 to 260 mm, 2 to 10 in" in asked(guide)


def test_a_terminal_says_what_enter_alone_comes_to() -> None:
    asked_for = Question("together", (), "?", ENTRIES["cylinder.valves_touch.together"], ())
    assert question_lines(asked_for, None, "")[-1] == "  Enter: left out"
    assert not any("left out" in one for one in question_lines(asked_for, None, "0.06 in"))


def test_help_says_where_it_stands_and_how_to_write_it() -> None:
    guide = after(*START, *STACK, *INTAKE, *EXHAUST[:2])
    reply = guide.say("?")
    text = " ".join(" ".join(reply.lines).split())
    assert not reply.taken
    assert "In the file: train.measured_pushrod.length" in text
    assert "4.935 +/- 0.002 in" in text
    assert 'closed = "11.000 in", turns = 4.25' in text


def test_every_word_that_a_question_takes_is_explained() -> None:
    gear = {"cylinder": "a", "port": "intake", "measured_pushrod": {}, "measured_drop": {"drop": 1}}
    by_lifter = {"table": "x.csv", "measured_at": "lifter", "read_with": "flat"}
    by_valve = {"table": "x.csv", "measured_at": "valve", "dialled": {"lifter": 1, "valve": 2}}
    three = [{"name": one, "lean": 0} for one in "abc"]
    copies = [{"cylinder": one, "port": "intake", "like": "a.intake"} for one in "bc"]
    spigots = [{"name": "a", "spigot": {"length": 1}}, {"name": "b"}]
    bridge = {"before": {}, "stack": {"measured_deck": {"below": 1}}, "wanted": ["pushrods", "assembly"]}
    deck, spigot = Need(("stack", "case_deck"), ()), Need(("cylinder", 1, "spigot", "length"), ())
    jobs = [
        ({"cylinder": [{"name": "a"}]}, "solid", by_valve, "bench", ()),
        ({"cylinder": [{"name": "a"}]}, "hydraulic", by_lifter, "coordinates", ()),
        ({"cylinder": three, "copies": copies}, "solid", by_valve, "bench", (deck,)),
        ({"cylinder": spigots, **bridge}, "solid", by_valve, "bench", (deck, spigot)),
    ]
    seen = dict[str, Question]()
    for held, kind, lobe, route, needs in jobs:
        train = {**gear, "lifter": {"kind": kind}, "measured_pushrod": {"length": 1}}
        job = {"crank": {}, "lobe": {"intake": lobe}, **held, "train": [train, *held.get("copies", [])]}
        for one in questions(job, [ROUTES[route]], needs):
            if isinstance(kind_of(one), Choice):
                known = seen.get(one.name)
                if known is None or len(one.options) > len(known.options):
                    seen[one.name if one.options else str(one.loc[-1])] = one
    assert {*seen} == {*WORDS}
    for one in seen.values():
        choice = kind_of(one)
        assert isinstance(choice, Choice)
        lines = [line.strip() for line in help_lines(one, choice, False)]
        for word in choice.options:
            assert any(line.startswith(f"{word}: ") for line in lines), (one.key, word)

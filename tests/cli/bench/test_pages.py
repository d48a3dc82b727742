"""Pages are set from templates that escape what a person typed, and blocks as they stand in every answer."""

from __future__ import annotations

from tallstack.cli.bench import pages
from tallstack.cli.page.model import Column, Frame, Heading, Length, Lines, Part, Row, Table, Tag, Words

EVIL = "<script>alert(1)</script>"


def test_what_is_typed_is_escaped() -> None:
    shown = pages.page("refused", key=EVIL, why=EVIL)
    assert "<script>alert" not in shown
    blocks = (Heading(EVIL), Words(EVIL), Lines(EVIL), Table((Column(EVIL),), (Row((EVIL,)), Words(EVIL))))
    assert "<script>" not in pages.piece("blocks", found=blocks)


def test_blocks_say_what_they_hold() -> None:
    table = Table(
        (Column("length"), Column("in")), (Row(("front", Length(25.4, unit="in"))), Words("a remark"))
    )
    shown = pages.piece("blocks", found=(Part(Tag.BAND, (Heading("STOP"), table)), Frame((Words("framed"),))))
    for one in (
        "<h3>STOP</h3>",
        "<td>front</td>",
        "1.000 in",
        "a remark",
        "framed",
        '<th scope="col">length</th>',
    ):
        assert one in shown


def test_a_picture_stands_where_an_option_has_one() -> None:
    picture = pages.environment().globals["picture"]
    assert "<svg" in picture(("train", 0, "measured_pushrod", "as"), "overall")
    assert "<svg" in picture(("lifter",), "solid")
    assert picture(("stack", "cylinder"), "anything") == ""


def test_no_page_carries_a_script_or_a_style_of_its_own() -> None:
    for name in ("base", "screen", "folder", "begin", "refused", "pieces", "setting"):
        text = (pages.TEMPLATES / f"{name}.html.j2").read_text(encoding="utf-8")
        assert " style=" not in text
        assert " on" not in [one[:3] for one in text.split("<") if one.startswith(" on")]
        assert text.count("<script") == text.count('<script type="module" src="/static/')
        assert "<script" not in text or name == "base"

"""A typed value is read exactly, in the unit it carries, or refused in words."""

from __future__ import annotations

import math
import re
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tallstack.cli.job.reading.values import (
    DENOMINATORS,
    Blank,
    Dimension,
    Typed,
    Value,
    ValueFault,
    described,
    read,
)

LENGTH, ANGLE, VOLUME, NUMBER = Dimension.LENGTH, Dimension.ANGLE, Dimension.VOLUME, Dimension.NUMBER
quick = settings(deadline=None, max_examples=150)

wholes = st.integers(0, 400)
denominators = st.sampled_from(DENOMINATORS)
decimals = st.decimals(0, 400, places=4, allow_nan=False, allow_infinity=False)
widths = st.decimals("0.0001", "0.9999", places=4, allow_nan=False, allow_infinity=False)


def value(raw: object, dimension: Dimension = LENGTH, units: str = "mm") -> Value:
    found = read(raw, dimension, units)
    assert isinstance(found, Value)
    return found


def refusal(raw: object, dimension: Dimension = LENGTH) -> str:
    with pytest.raises(ValueFault) as caught:
        read(raw, dimension, "mm")
    return str(caught.value)


def in_decimals(exact: Fraction) -> str:
    """Return a fraction with a denominator of 2s and 5s as a decimal with all its digits."""
    scaled = exact * 10**12
    assert scaled.denominator == 1
    figures = f"{abs(scaled.numerator):013d}"
    return f"{'-' if exact < 0 else ''}{figures[:-12]}.{figures[-12:]}"


@quick
@given(wholes, denominators, st.data())
def test_inches_and_millimetres_of_one_fraction_are_one_double(
    whole: int, under: int, data: st.DataObject
) -> None:
    over = data.draw(st.integers(1, under - 1))
    exact = whole + Fraction(over, under)
    typed = f"{whole} {over}/{under}" if whole else f"{over}/{under}"
    expected = float(exact * Fraction(254, 10))
    assert value(f"{typed} in").number == expected
    assert value(f'{typed}"').number == expected
    assert value(f"{in_decimals(exact)} in").number == expected
    assert value(f"{in_decimals(exact * Fraction(254, 10))} mm").number == expected
    assert value(typed, units="in").number == expected
    assert value(f"-{typed} in").number == -expected


@pytest.mark.parametrize("under", DENOMINATORS)
def test_every_shop_denominator(under: int) -> None:
    for over in range(1, under):
        assert value(f"{over}/{under} in").number == float(Fraction(over, under) * Fraction(254, 10))


@quick
@given(decimals)
def test_thousandths_inches_and_millimetres_agree(number: object) -> None:
    exact = Fraction(str(number))
    inches = value(f"{number} in").number
    assert inches == float(exact * Fraction(254, 10))
    assert value(f"{number}", units="in").number == inches
    assert value(f"{in_decimals(exact * 1000)} thou").number == inches
    assert value(f"{number} mm").number == float(exact) == value(Typed.of(str(number))).number


@quick
@given(decimals)
def test_number_without_quotes_is_read_as_typed(number: object) -> None:
    found = value(Typed.of(str(number)), units="in")
    assert found.number == value(f"{number} in").number
    assert found.typed == str(number)


@quick
@given(decimals, widths, st.sampled_from(["mm", "in", '"', "thou"]))
def test_doubt_is_read_in_its_own_unit(number: object, width: object, unit: str) -> None:
    scale = {"mm": Fraction(1), "in": Fraction(254, 10), '"': Fraction(254, 10), "thou": Fraction(254, 10000)}
    expected = float(Fraction(str(width)) * scale[unit])
    for mark in ("+/-", "±", " ± ", " +- ", "+/- "):
        for shown in ("", unit, f" {unit}"):
            found = value(f"{number}{shown}{mark}{width} {unit}")
            assert found.number == float(Fraction(str(number)) * scale[unit])
            assert found.doubt is not None
            assert found.doubt.half_width == expected
            assert found.doubt.sigmas is None


@quick
@given(decimals, widths, st.sampled_from([1, 2]))
def test_doubt_may_be_one_or_two_sigma(number: object, width: object, count: int) -> None:
    for word in ("sigma", "σ", "s"):
        for typed in (f"{number} +/- {width} mm ({count} {word})", f"{number}±{width}mm({count}{word})"):
            found = value(typed)
            assert found.doubt is not None
            assert found.doubt.sigmas == count
            assert found.doubt.half_width == float(Fraction(str(width)))


def test_standard_doubt_of_a_half_width_and_of_sigmas() -> None:
    rectangular = value("5 +/- 0.3 mm").doubt
    one, two = value("5 +/- 0.3 mm (1 sigma)").doubt, value("5 +/- 0.3 mm (2 sigma)").doubt
    assert rectangular is not None
    assert one is not None
    assert two is not None
    assert rectangular.standard == pytest.approx(0.3 / math.sqrt(3))
    assert one.standard == pytest.approx(0.3)
    assert two.standard == pytest.approx(0.15)


def test_units_on_both_sides_of_the_doubt_may_differ() -> None:
    found = value("4.935 in +/- 2 thou")
    assert found.number == value("4.935 in").number
    assert found.doubt is not None
    assert found.doubt.half_width == value("2 thou").number


@pytest.mark.parametrize(
    ("typed", "plain"),
    [
        ("−23 mm", "-23 mm"),
        ("–23 mm", "-23 mm"),
        ("- 23 mm", "-23 mm"),
        ("+23 mm", "23 mm"),
        ("0.030″", '0.030"'),
        ("0.030”", '0.030"'),
        ("3\u00a015/16\u00a0in", "3 15/16 in"),
        ("98.4\u202fmm", "98.4 mm"),
        ("  98.4mm ", "98.4 mm"),
        ("98.4 MM", "98.4 mm"),
        ("4.935 Inches", "4.935 in"),
        (".045 in", "0.045 in"),
        ("45. mm", "45 mm"),
        ("3 / 4 in", "3/4 in"),
        ("1.5e1 mm", "15 mm"),
        ("98.4\n", "98.4"),
    ],
)
def test_other_ways_to_type_one_value(typed: str, plain: str) -> None:
    assert value(typed).number == value(plain).number


def test_angles_volumes_and_plain_numbers() -> None:
    assert value(27, ANGLE).number == value("27 deg", ANGLE).number == value("27°", ANGLE).number
    assert value(180, ANGLE).number == pytest.approx(math.pi, rel=1e-15)
    assert value("88 cc", VOLUME).number == value("88 ml", VOLUME).number == 88000.0
    assert value("1 cu in", VOLUME).number == float(Fraction(254, 10) ** 3)
    assert value("20 +/- 0.5", NUMBER).number == 20.0
    assert value(10, ANGLE, "in").number == value(10, ANGLE, "mm").number


@pytest.mark.parametrize("raw", ["", "  ", "\t"])
def test_empty_text_is_an_entry_left_open(raw: str) -> None:
    assert isinstance(read(raw, LENGTH, "mm"), Blank)


@pytest.mark.parametrize(
    ("raw", "told"),
    [
        ("221.3O +/- 0.05", 'the letter O stands for a zero in it; write "221.30 +/- 0.05"'),
        ("1.O", 'the letter O stands for a zero in it; write "1.0"'),
        ("1o in", 'the letter o stands for a zero in it; write "10 in"'),
        ("l2.5", 'the letter l stands for a one in it; write "12.5"'),
        ("5/I6 in", 'the letter I stands for a one in it; write "5/16 in"'),
        (
            "1O.l +/- O.1",
            'the letter O stands for a zero and the letter l for a one in it; write "10.1 +/- 0.1"',
        ),
    ],
)
def test_letter_in_place_of_a_figure_is_named_and_not_understood(raw: str, told: str) -> None:
    with pytest.raises(ValueFault) as fault:
        read(raw, Dimension.LENGTH, "mm")
    assert str(fault.value) == f'"{raw}": {told}'


@pytest.mark.parametrize(
    ("raw", "dimension", "told"),
    [
        ("0.7l", Dimension.VOLUME, '"0.7l": "l" is no unit of a volume'),
        ("high", Dimension.LENGTH, "not a number"),
        ("5 lO", Dimension.LENGTH, '"lO" is no unit of a length'),
        ("oil", Dimension.LENGTH, "not a number"),
    ],
)
def test_letters_that_are_no_figures_are_left_alone(raw: str, dimension: Dimension, told: str) -> None:
    with pytest.raises(ValueFault, match=re.escape(told)):
        read(raw, dimension, "mm")


@pytest.mark.parametrize(
    ("raw", "told"),
    [
        ("4,935 in", '"4,935 in": a comma means thousands to some; write "4.935 in" if decimals are meant, '),
        ("4,93 in", '"4,93 in": a comma means thousands to some; write "4.93 in" if decimals are meant'),
        ("12,345,678 mm", 'write "12.345.678 mm" if decimals are meant'),
        ("5/12 in", '"5/12 in": a fraction over 12; shop fractions are over 2, 4, 8, 16, 32, 64, 128'),
        ("1/0 in", "a fraction over 0"),
        ("17/16 in", "17/16 is an improper fraction; write 1 1/16 if that is meant"),
        ("2 18/16 in", "18/16 is an improper fraction; write 3 1/8 if that is meant"),
        ("16/16 in", "16/16 is an improper fraction; write 1 if that is meant"),
        ("11-5/32 in", 'a - between whole number and fraction could be a minus; write "11 5/32 in"'),
        ("3½ in", 'write the fraction with figures and a stroke, for example "3 1/2 in"'),
        ("4.9 in mm", '"in mm" is no unit of a length; it takes mm, in, thou or "'),
        ("4 in 9 mm", "two numbers or two units in one value; write one number and one unit"),
        ("6 4", "two numbers or two units in one value"),
        ("98.4 0.1 mm", "two numbers or two units in one value"),
        ("98.4 + 0.1 mm", "two numbers in one value; a doubt is written with +/- between them"),
        ("98.4 -0.1 mm", "two numbers in one value"),
        ("4.9 furlongs", '"furlongs" is no unit of a length'),
        ("4.9 %", '"%" is no unit of a length'),
        ("27 deg", '"deg" is no unit of a length'),
        ("4.9 +/- 0 mm", "the doubt after +/- must be greater than 0; leave +/- out if it is not known"),
        ("4.9 +/- -0.1 mm", "the doubt after +/- must be greater than 0"),
        ("4.9 +/- 0.1 +/- 0.1 mm", "more than one +/-; write one value and one doubt"),
        ("4.9 +/-", 'no doubt after +/-; write for example "4.935 +/- 0.002 in"'),
        ("+/- 0.1 mm", "no value before +/-"),
        ("4.9 in +/- 0.1", 'write it once, at the end: "4.9 +/- 0.1 in"'),
        ("4.9 mm (1 sigma)", "says sigma but gives no +/-"),
        ("4.9 +/- 0.1 mm (3 sigma)", "a doubt is given as 1 sigma or as 2 sigma"),
        ("mm", '"mm": not a number; write for example 4.935, "4.935 in" or "3 15/16 in"'),
        ("about 5 mm", "not a number"),
        ("nan", "not a number"),
        ("inf mm", "not a number"),
        ("-", "not a number"),
        ("1e999 mm", "two numbers or two units"),
        ("1e99 mm", "too large for anything in a workshop"),
        ("9" * 61, "longer than a value can be (60 characters)"),
    ],
)
def test_what_could_be_read_in_two_ways_is_refused(raw: str, told: str) -> None:
    assert told in refusal(raw)


@pytest.mark.parametrize(
    ("raw", "told"),
    [
        (True, "true where a length belongs"),
        ({}, "a table where a length belongs"),
        ([1], "a list where a length belongs"),
        (float("nan"), "nan: not a number that can be measured"),
        (float("inf"), "inf: too large for anything in a workshop"),
        (Typed.of("1e400"), "1e400: too large for anything in a workshop"),
        (10**400, "a number of so many digits: too large for anything in a workshop"),
        pytest.param(-(10**5000), "a number of so many digits: too large", id="5000 digits"),
    ],
)
def test_what_is_no_measurement_is_refused(raw: object, told: str) -> None:
    assert refusal(raw).startswith(told)


def test_volume_without_its_unit_is_refused() -> None:
    assert refusal("88", VOLUME) == '"88": a volume needs its unit: cc, ml or cu in'
    assert "a volume needs its unit" in refusal(88, VOLUME)


def test_tiny_exponent_is_read_at_once() -> None:
    assert value(Typed.of("1e-99999999")).number == 0.0


@quick
@given(st.text(max_size=80))
def test_any_text_is_read_or_refused_on_one_plain_line(raw: str) -> None:
    for dimension in Dimension:
        try:
            found = read(raw, dimension, "in")
            told = ""
        except ValueFault as fault:
            found, told = Blank(), str(fault)
        assert told.isprintable()
        assert isinstance(found, Blank) or math.isfinite(found.number)


@pytest.mark.parametrize(
    ("raw", "words"),
    [(True, "true"), (5, "5"), (Typed.of("5.50"), "5.50"), ("top", '"top"'), ([], "a list"), ({}, "a table")],
)
def test_what_was_found_is_named_in_words(raw: object, words: str) -> None:
    assert described(raw) == words


def test_a_modulus_is_the_same_in_every_unit() -> None:
    told = [value(one, Dimension.MODULUS).number for one in ("210 GPa", "210000 MPa", "210000 N/mm2")]
    assert told == [210_000.0] * 3
    assert value("30457925 psi", Dimension.MODULUS).number == pytest.approx(210_000.0, rel=1e-7)

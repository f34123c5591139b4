"""Lengths, masses and volumes against exact fractions, published unit factors, and the marks of a tape measure."""

from __future__ import annotations

import subprocess
import sys
import unicodedata
from fractions import Fraction
from math import inf, nan
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from scipy import constants

from tumblehome import errors, lengths
from tumblehome.lengths import (
    format_feet,
    format_length,
    format_mass,
    format_volume,
    length_words,
    parse_length,
    parse_mass,
    parse_span,
    parse_volume,
    span_words,
    told,
    volume_words,
)

if TYPE_CHECKING:
    from collections.abc import Callable
    from decimal import Decimal

INCH = Fraction("25.4")  # mm: NIST Handbook 44, Appendix C
HALF_MARK = float(INCH / 32)  # mm: half of the sixteenth that a length is written to
ROUNDING = 1e-9  # mm: what float arithmetic in these tests may add, far below any mark

wholes = st.integers(0, 999)
below_one = st.integers(2, 64).flatmap(lambda under: st.integers(1, under - 1).map(lambda over: (over, under)))
signs = st.sampled_from([("", 1), ("-", -1), ("+", 1), ("−", -1)])
in_a_van = st.floats(-20_000, 20_000)


@given(
    signs,
    wholes,
    below_one,
    st.sampled_from([" ", "-", "  "]),
    st.sampled_from([" in", "in", '"', "″", " inches", "''"]),
)
def test_mixed_number_is_the_exact_fraction(
    sign: tuple[str, int], whole: int, fraction: tuple[int, int], joint: str, unit: str
) -> None:
    """Python's own fractions are the reference; the float nearest to the exact product is the answer."""
    text = f"{sign[0]}{whole}{joint}{fraction[0]}/{fraction[1]}{unit}"
    assert parse_length(text) == float(sign[1] * (whole + Fraction(*fraction)) * INCH)


@given(
    signs,
    st.integers(0, 99),
    st.integers(0, 11),
    below_one,
    st.sampled_from(["{}' {}\"", "{}'{}″", "{} ft {} in", "{}'-{}\"", "{}ft{}in"]),
)
def test_feet_and_inches_are_the_exact_fraction(
    sign: tuple[str, int], feet: int, inches: int, fraction: tuple[int, int], shape: str
) -> None:
    text = sign[0] + shape.format(feet, f"{inches}-{fraction[0]}/{fraction[1]}")
    assert parse_length(text) == float(sign[1] * (12 * feet + inches + Fraction(*fraction)) * INCH)


@given(st.decimals(-9999, 9999, places=3), st.sampled_from([("mm", 1), ("cm", 10), ("m", 1000)]))
def test_metric_decimal_is_exact(number: Decimal, unit: tuple[str, int]) -> None:
    if abs(number) * unit[1] <= 10**6:
        assert parse_length(f"{number:f} {unit[0]}") == float(Fraction(number) * unit[1])


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ("22 1/2 in", Fraction(45, 2)),
        ('22-1/2"', Fraction(45, 2)),
        ("22.5 in", Fraction(45, 2)),
        ("22½ in.", Fraction(45, 2)),
        ("22-½″", Fraction(45, 2)),
        ("22 1⁄2 in", Fraction(45, 2)),
        ("5' 3-1/2\"", Fraction(127, 2)),
        ("5'3 1/2\"", Fraction(127, 2)),
        ("5′ 3½″", Fraction(127, 2)),
        ("5’ 3½”", Fraction(127, 2)),
        ("5' - 3\"", Fraction(63)),
        ("5 ft 3 in", Fraction(63)),
        ("5' 3", Fraction(63)),
        ("4' 2 1/2", Fraction(101, 2)),
        ("4 ft 2½", Fraction(101, 2)),
        ("5 FT 3 IN", Fraction(63)),
        ("-5' 3\"", Fraction(-63)),
        ("5'", Fraction(60)),
        ("1/2 in", Fraction(1, 2)),
        ("9/8 in", Fraction(9, 8)),
        ("⅞in", Fraction(7, 8)),
        (".5 in", Fraction(1, 2)),
        ("\u00a030\u2009in ", Fraction(30)),
    ],
)
def test_spellings_of_inches(text: str, inches: Fraction) -> None:
    """The value is read off the text by hand."""
    assert parse_length(text) == float(inches * INCH)


@pytest.mark.parametrize("character", "½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅐⅛⅜⅝⅞⅑⅒")
def test_fraction_characters_have_their_unicode_value(character: str) -> None:
    """The Unicode character database gives the numeric value."""
    value = unicodedata.numeric(character)
    assert parse_length(f"{character} mm") == pytest.approx(value, rel=1e-15)
    assert parse_length(f"7{character} mm") == pytest.approx(7 + value, rel=1e-15)


@pytest.mark.parametrize(
    ("found", "published"),
    [
        (parse_length("1 in"), constants.inch * 1000),
        (parse_length("1 ft"), constants.foot * 1000),
        (parse_mass("1 lb"), constants.pound),
        (parse_mass("1 oz"), constants.oz),
        (parse_mass("1 g"), constants.gram),
        (parse_volume("1 gal"), constants.gallon * 1000),
        (parse_volume("1 L"), constants.liter * 1000),
        (parse_volume("1 ml"), constants.milli),
    ],
)
def test_unit_factors(found: float, published: float) -> None:
    """scipy.constants carries the factors of NIST; the last digit may differ by float rounding there."""
    assert found == pytest.approx(published, rel=1e-15)


def test_unit_factors_are_the_defined_decimals() -> None:
    """NIST Handbook 44, Appendix C: exact by definition."""
    assert lengths.UNITS["in"] == Fraction("25.4")
    assert lengths.MASS_UNITS["lb"] == Fraction("0.45359237")
    assert lengths.VOLUME_UNITS["gal"] == Fraction("3.785411784")


@given(st.floats(-1e5, 1e5), st.sampled_from(list(lengths.UNITS)))
def test_bare_number_is_the_same_as_text_or_number(number: float, unit: str) -> None:
    """`22.1` and `"22.1"` in one file mean the same length; the declared unit has the same effect as a written one."""
    plain = f"{number:.6f}"
    if abs(float(plain)) * lengths.UNITS[unit] <= 10**6:
        as_number = parse_length(float(plain), unit=unit)
        assert as_number == parse_length(plain, unit=unit) == parse_length(f"{plain} {unit}")


def test_bare_numbers_in_each_declared_unit() -> None:
    assert parse_length(30, unit="in") == 762.0  # 30 x 25.4
    assert parse_length("22 1/2", unit="in") == 571.5  # 22.5 x 25.4
    assert parse_length("57", unit="cm") == 570.0
    assert parse_length("570 mm", unit="in") == 570.0  # a written unit outranks the declared one
    assert parse_mass(2.5, unit="kg") == 2.5
    assert parse_volume("20", unit="gal") == pytest.approx(20 * 231 * 2.54**3 / 1000)  # 231 cubic inches a gallon


def test_pounds_and_ounces() -> None:
    assert parse_mass("5 lb 3 oz") == float((5 + Fraction(3, 16)) * Fraction("0.45359237"))  # 16 oz a pound


REFUSED: list[tuple[Any, dict[str, Any], str]] = [
    ("", {}, "write it like 22 1/2 in"),
    (" \t ", {}, "write it like 22 1/2 in"),
    ("9" * 65, {"unit": "mm"}, "in at most 64 characters"),
    ("9" * 100_000 + " mm", {}, "in at most 64 characters"),
    ("9" * 60 + " mm", {}, "check its unit and digits"),
    (10**5000, {"unit": "mm"}, "check its unit and digits"),
    (1e300, {"unit": "mm"}, "check its unit and digits"),
    ("22", {}, "write one, as in 22 1/2 in"),
    (22, {}, "declare the unit of bare numbers"),
    (10**5000, {}, "declare the unit of bare numbers"),
    (22.5, {"unit": "inn"}, "did you mean 'in'?"),
    ("22 inn", {}, "did you mean 'in'?"),
    ("22 milimeter", {}, "did you mean 'millimeter'?"),
    ("22 kg", {}, "the units are mm, cm, m, in, ft"),
    ("22 in²", {}, "did you mean 'in'?"),
    ("1e3 mm", {}, "the units are mm, cm, m, in, ft"),
    ("22 1/2 1/2", {}, "write it like 22 1/2 in"),
    ("22 1/2 1/2 in", {}, "write it like 22 1/2 in"),
    ("22 1/2 1/2", {"unit": "in"}, "write it like 22 1/2 in"),
    ("5 3 in", {}, "write it like 22 1/2 in, 5' 3-1/2\""),
    ("5' 12", {}, "fewer than 12 in"),
    ("5 mm 3", {}, "write the length in one unit"),
    ("5' -3\"", {}, "5' 3-1/2\""),
    ("22 mm 3 in", {}, "write the length in one unit"),
    ("3 in 5 ft", {}, "write the length in one unit"),
    ("5' 12\"", {}, "fewer than 12 in"),
    ("5.5' 3\"", {}, "write whole ft"),
    ("22 9/8 in", {}, "write one such as 22 1/2"),
    ("22 2/2 in", {}, "write one such as 22 1/2"),
    ("1/0 in", {}, "write a fraction such as 1/2"),
    ("22 0/0 in", {}, "write a fraction such as 1/2"),
    ("1/2/3 in", {}, "write it like"),
    ("1.5/2 in", {}, "write it like"),
    ("22.5 1/2 in", {}, "write it like"),
    ("½4 in", {}, "write it like"),
    ("½½ in", {}, "write it like"),
    ("22,5 in", {}, "use a point for decimals"),
    ("1,660 mm", {}, "nothing for thousands"),
    ("1_000 mm", {}, "write it like"),
    ("２２ mm", {}, "write it like"),
    ("--3 in", {}, "write it like"),
    ("in", {}, "write it like"),
    ("nan mm", {}, "write it like"),
    ("inf", {"unit": "mm"}, "write it like"),
    (nan, {"unit": "mm"}, "write one such as 22.5"),
    (inf, {"unit": "mm"}, "write one such as 22.5"),
    (-inf, {"unit": "mm"}, "write one such as 22.5"),
    (True, {"unit": "mm"}, "write text such as 22 1/2 in"),
    (None, {"unit": "mm"}, "write text such as 22 1/2 in"),
    ([22], {"unit": "mm"}, "or a number"),
    (0, {"unit": "mm", "positive": True}, "write a length above zero"),
    ("0 in", {"positive": True}, "write a length above zero"),
    ("-3 in", {"positive": True}, "write a length above zero"),
    ("22 in\x00\n", {}, "write it like"),
]


@pytest.mark.parametrize(("given_", "settings", "mend"), REFUSED, ids=range(len(REFUSED)))
def test_refused_lengths_name_the_mend(given_: Any, settings: dict[str, Any], mend: str) -> None:
    with pytest.raises(errors.LengthError) as caught:
        parse_length(given_, **settings)
    assert mend in str(caught.value)
    assert "\n" not in str(caught.value)
    assert len(str(caught.value)) < 200


@pytest.mark.parametrize(
    ("read", "text", "mend"),
    [
        (parse_mass, "3", "as in 27 1/2 lb or 12.5 kg"),
        (parse_mass, "3 lbb", "did you mean 'lb'?"),
        (parse_mass, "-3 kg", "without the minus sign"),
        (parse_mass, "3 L", "the units are kg, g, lb, oz"),
        (parse_mass, "5 lb 16 oz", "fewer than 16 oz"),
        (parse_volume, "3", "as in 20 gal (US) or 75 L"),
        (parse_volume, "3 gall", "did you mean 'gal'?"),
        (parse_volume, "-3 L", "without the minus sign"),
        (parse_volume, "1 gal 3 L", "in one unit"),
        (parse_span, "30", "as in 30:48 in"),
        (parse_span, "1:2:3 in", "as in 30:48 in"),
        (parse_span, "30:48", "write one, as in"),
        (parse_span, ":48 in", "write it like"),
        (parse_span, "30 in:48", "after its second length"),
        (parse_span, "4:5' 3\"", "after its first length"),
        (parse_span, "48:30 in", "write the smaller length first"),
        (parse_span, 30, "as in 30:48 in"),
    ],
)
def test_refused_masses_volumes_and_spans_name_the_mend(read: Callable[[Any], object], text: str, mend: str) -> None:
    with pytest.raises(errors.LengthError) as caught:
        read(text)
    assert mend in str(caught.value)


def _outcome(text: str, unit: str | None) -> float | errors.LengthError:
    """Return the length or the refusal; whatever else is raised fails the test."""
    try:
        return parse_length(text, unit=unit)
    except errors.LengthError as error:
        return error


@given(st.text(max_size=80), st.sampled_from([None, "mm", "in"]))
def test_any_text_is_a_finite_length_or_one_clear_line(text: str, unit: str | None) -> None:
    found = _outcome(text, unit)
    if isinstance(found, float):
        assert abs(found) <= 1e6
    else:
        assert len(str(found).splitlines()) == 1


@given(st.text("0123456789 -/.'\"½infmt:", max_size=16))
def test_a_leading_minus_mirrors_a_length_and_no_more(text: str) -> None:
    """A denser search where the grammar is."""
    found = _outcome(text, "mm")
    if isinstance(found, float) and not text.strip().startswith("-"):
        assert _outcome("-" + text.strip(), "mm") == -found


@given(st.integers(-500, 500), st.integers(0, 500), st.sampled_from(["in", "mm", "cm", "ft"]))
def test_span_is_its_two_lengths(low: int, width: int, unit: str) -> None:
    """Written once or twice or declared, the unit is the same."""
    high = low + width
    expected = (parse_length(low, unit=unit), parse_length(high, unit=unit))
    assert parse_span(f"{low}:{high} {unit}") == expected
    assert parse_span(f"{low} {unit} : {high} {unit}", unit="m") == expected
    assert parse_span(f"{low}:{high}", unit=unit) == expected
    assert parse_span(f"{low}:{high} {unit}", unit="m") == expected


def test_span_of_feet_and_inches() -> None:
    assert parse_span("2' 6\":4'") == (762.0, 1219.2)  # 30 x 25.4, 48 x 25.4


@given(in_a_van)
@example(0.0)
@example(-0.01)
def test_inches_come_back_within_half_a_mark(mm: float) -> None:
    assert abs(parse_length(format_length(mm, "in")) - mm) <= HALF_MARK + ROUNDING
    assert abs(parse_length(format_feet(mm)) - mm) <= HALF_MARK + ROUNDING


@given(in_a_van)
@example(-0.01)
def test_millimeters_come_back_within_half_a_tenth(mm: float) -> None:
    text = format_length(mm, "mm")
    assert abs(parse_length(text, unit="mm") - mm) <= 0.05 + ROUNDING
    assert not text.endswith(".0")
    assert text != "-0"


@given(st.floats(0, 5000))
def test_masses_and_volumes_come_back_within_half_a_tenth(value: float) -> None:
    assert abs(parse_mass(format_mass(value, "kg")) - value) <= 0.05 + ROUNDING
    assert abs(parse_mass(format_mass(value, "lb")) - value) <= 0.05 * constants.pound + ROUNDING
    assert abs(parse_volume(format_volume(value, "L")) - value) <= 0.05 + ROUNDING
    assert abs(parse_volume(format_volume(value, "gal")) - value) <= 0.05 * constants.gallon * 1000 + ROUNDING


@given(st.integers(-4000, 4000))
def test_every_mark_of_the_tape_is_written_exactly(sixteenths: int) -> None:
    """A length on a mark reads back as itself, whichever way it is written."""
    mm = float(sixteenths * INCH / 16)
    assert parse_length(format_length(mm, "in")) == mm
    assert parse_length(format_feet(mm)) == mm


@given(in_a_van)
def test_written_inches_are_reduced_and_carried(mm: float) -> None:
    """A fraction on a tape has an odd numerator over 2, 4, 8 or 16, and fewer than 12 inches stand beside feet."""
    inches = format_feet(mm).split("' ")[1].rstrip('"')
    assert 0 <= parse_length(inches, unit="in") < 12 * 25.4
    for text in (inches, format_length(mm, "in").rstrip('"')):
        if "/" in text:
            over, under = (int(part) for part in text.split()[-1].lstrip("-").split("/"))
            assert over % 2 == 1
            assert under in (2, 4, 8, 16)
            assert over < under


@given(in_a_van)
def test_mirrored_lengths_differ_in_the_sign_alone(mm: float) -> None:
    for write in (lambda x: format_length(x, "in"), lambda x: format_length(x, "mm"), format_feet):
        assert write(-mm).lstrip("-") == write(mm).lstrip("-")


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        (format_length(35.99 * 25.4, "in"), '36"'),  # 575.84 sixteenths round to 576
        (format_feet(35.99 * 25.4), "3' 0\""),
        (format_feet(-35.99 * 25.4), "-3' 0\""),
        (format_length(1660.525, "in"), '65 3/8"'),  # 65.375 x 25.4
        (format_length(1660.0, "mm"), "1660"),
        (format_length(742.5, "mm"), "742.5"),
        (format_length(999.96, "mm"), "1000"),
        (format_length(-12.7, "in"), '-1/2"'),
        (format_length(0.0, "in"), '0"'),
        (format_feet(63.5 * 25.4), "5' 3 1/2\""),
        (format_feet(36.5 * 25.4), "3' 0 1/2\""),
        (format_feet(-152.4), "-0' 6\""),
        (format_feet(-0.1), "0' 0\""),
        (format_mass(12.5, "kg"), "12.5 kg"),
        (format_mass(0.45359237 * 20, "lb"), "20 lb"),
        (format_volume(3.785411784 * 20, "gal"), "20 gal"),
        (format_volume(75.0, "L"), "75 L"),
    ],
)
def test_written_quantities(written: str, expected: str) -> None:
    """Worked by hand from 25.4 mm an inch, 0.45359237 kg a pound and 3.785411784 L a gallon."""
    assert written == expected


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        (length_words(742.5, "mm"), "742.5 mm"),
        (length_words(742.5, None), "742.5 mm"),
        (length_words(742.5, "cm"), "74.25 cm"),
        (length_words(1234567.8, "m"), "1234.5678 m"),
        (length_words(1660.525, "in"), '65 3/8"'),
        (length_words(63.5 * 25.4, "ft"), "5' 3 1/2\""),
        (length_words(0.0, "ft"), "0' 0\""),
        (length_words(-0.0, "mm"), "0 mm"),
        (length_words(0.001, "mm"), "0.001 mm"),  # what would read as nothing is told finer
        (length_words(-0.0254, "in"), '-0.001"'),
        (span_words((300.0, 914.4), "mm"), "300 to 914.4 mm"),
        (span_words((19.05, 914.4), "in"), '3/4" to 36"'),
        (volume_words(0.02, "mm"), "20 ml"),
        (volume_words(4.54, "cm"), "4.5 L"),
        (volume_words(130.0, None), "130 L"),
        (volume_words(-130.0, "mm"), "-130 L"),
        (volume_words(2 * 3.785411784, "ft"), "2 gal"),
        (volume_words(12 * 0.016387064, "in"), "12 cu in"),
        (
            told("{} from {} at {} in {}", "rib", 25.4, (25.4, 50.8), [25.4, 0.0, -12.7])("in"),
            'rib from 1" at 1" to 2" in (1", 0", -1/2")',
        ),
        (told("{}", [25.4, 0.0, -12.7])(None), "(25.4, 0, -12.7) mm"),
        (told("{}", "a name with {}")("mm"), "a name with {}"),
    ],
)
def test_quantities_in_sentences(written: str, expected: str) -> None:
    """Worked by hand from 25.4 mm an inch, 231 cubic inches and 3.785411784 L a gallon."""
    assert written == expected


@pytest.mark.parametrize("unit", ["mm", "cm", "m", "in", "ft", None])
@given(mm=in_a_van)
def test_a_length_in_a_sentence_is_read_again_to_the_nearest_mark(unit: str | None, mm: float) -> None:
    """Half of a sixteenth of an inch, or half of a tenth of a millimeter."""
    within = HALF_MARK if unit in {"in", "ft"} else 0.05
    assert abs(parse_length(length_words(mm, unit)) - mm) <= within + ROUNDING


@given(liters=st.floats(1e-3, 1e5), unit=st.sampled_from(["mm", "in"]))
def test_a_volume_is_never_told_in_exponent_form_nor_in_the_other_system(liters: float, unit: str) -> None:
    words = volume_words(liters, unit)
    assert "e" not in words
    assert words.split(maxsplit=1)[1] in ({"L", "ml"} if unit == "mm" else {"gal", "cu in"})


@pytest.mark.parametrize("number", [nan, inf, -inf])
def test_what_is_not_finite_is_never_written(number: float) -> None:
    for write in (format_feet, lambda x: format_length(x, "mm"), lambda x: format_mass(x, "kg")):
        with pytest.raises(errors.LengthError, match="not a finite number"):
            write(number)


def test_unknown_units_of_writing_are_refused() -> None:
    for write in (format_length, format_mass, format_volume):
        with pytest.raises(errors.LengthError, match="choose "):
            write(1.0, "furlong")


@given(st.floats(-1e5, 1e5))
def test_what_is_shown_has_its_unit_and_is_read_back_to_the_mark(mm: float) -> None:
    for units, mark in (("mm", 0.1), ("in", 25.4 / 16)):
        assert lengths.parse_length(lengths.shown(mm, units)) == pytest.approx(mm, abs=mark / 2 + 1e-9)


@given(st.floats(-1e5, 1e5), st.sampled_from([0.1, 1.0, 25.4 / 16]))
def test_rounding_errs_to_the_side_that_it_says(mm: float, mark: float) -> None:
    """By less than a mark; what lies on a mark, but for the last digits of a sum of floats, stays there."""
    low, high, sure = lengths.rounded_down(mm, mark), lengths.rounded_up(mm, mark), 1e-5 * mark
    assert mm - mark - sure < low <= mm + sure
    assert mm - sure <= high < mm + mark + sure
    for near_mark in (low, low + 1e-6 * mark, low - 1e-6 * mark):
        assert lengths.rounded_down(near_mark, mark) == lengths.rounded_up(near_mark, mark) == pytest.approx(low)


def test_public_names_are_complete() -> None:
    public = {
        name
        for name in vars(lengths)
        if name.startswith(("parse_", "format_", "rounded_")) or name.endswith(("UNITS", "_words"))
    }
    assert {name for name in public if not name.startswith("_")} | {"millimeters", "shown", "told"} == set(
        lengths.__all__
    )


@pytest.mark.parametrize("value", [1, 1.5, Fraction(3, 2), 0.0])
def test_a_number_is_millimeters(value: float) -> None:
    assert lengths.millimeters("height", value) == float(value)


@pytest.mark.parametrize("value", ["48 in", None, True, [1.0], b"1"])
def test_what_is_no_number_is_no_millimeters(value: object) -> None:
    with pytest.raises(errors.LengthError, match=r"the height is .*; give millimeters as a number"):
        lengths.millimeters("height", value)


def test_reading_a_length_loads_no_array_library() -> None:
    """Start-up stays fast: the module stands on the standard library alone."""
    code = (
        "import sys, types; package = sys.modules['tumblehome'] = types.ModuleType('tumblehome');"
        "package.__path__ = [sys.argv[1]]; import tumblehome.lengths; sys.exit('numpy' in sys.modules)"
    )
    folder = str(Path(lengths.__file__).parent)
    assert subprocess.run([sys.executable, "-c", code, folder], check=False).returncode == 0

"""The copper share of a cable, from its build and from a sample, with its uncertainty."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from uncertainties import ufloat

from gradewright.core.errors import Refused
from gradewright.core.recovery.cable import Build, CopperShare, Sample, copper_of_build, copper_of_sample
from gradewright.core.recovery.conductors import Conductor


def built(*conductors: Conductor, weight: str = "38 lb", length: str = "1000 ft", **more: Any) -> CopperShare:
    return copper_of_build(Build(conductors, weight, length, **more))


def at(error: pytest.ExceptionInfo[Refused]) -> list[tuple[str | int, ...]]:
    return [fault.at for fault in error.value.faults]


def test_three_conductors_of_a_gauge() -> None:
    """A cable of 3 x 16 AWG that weighs 38 lb for 1000 ft is some 62 % copper, between 59 and 68 %."""
    found = built(Conductor(3, "16 AWG"))
    assert Fraction("0.59") < found.share.low < Fraction("0.617") < found.share.likely < Fraction("0.64")
    assert Fraction("0.67") < found.share.high < Fraction("0.68")


def test_a_solid_single_wire_has_no_lay() -> None:
    """One solid conductor is as long as its cable: its share is its cross-section's, and less wide."""
    solid, untold = (
        built(Conductor(1, "14 AWG", 1), weight="22 lb"),
        built(Conductor(1, "14 AWG"), weight="22 lb"),
    )
    assert solid.share.low == untold.share.low
    assert solid.share.likely < untold.share.likely
    assert solid.share.high < untold.share.high


def test_the_share_is_nominal_area_times_density_over_weight() -> None:
    """A solid wire of 2.5 mm2 at 30 kg/km: 2.5 x 8.89 at most, less where only its resistance is kept."""
    found = built(Conductor(1, "2.5 mm2", 1), weight="30.0 kg", length="1000 m", length_within="1 mm")
    # 17.241 / 7.41 = 2.3267 mm2 is the least of class 1
    assert found.share.low == Fraction("17.241") / Fraction("7.41") * Fraction("8.89") / (
        Fraction("30.05") / Fraction("999.999") * 1000
    )
    assert found.share.high == Fraction("2.5") * Fraction("8.89") / (
        Fraction("29.95") / Fraction("1000.001") * 1000
    )


def test_a_fine_stranded_conductor_may_hold_less() -> None:
    """Class 5 is allowed more resistance, so its low end is lower; not knowing is taken for the lower."""
    ends = [
        built(Conductor(3, "1.5 mm2", n), weight="112 kg", length="1000 m").share.low for n in (7, 30, None)
    ]
    assert ends[1] == ends[2] < ends[0]


def test_strands_by_their_diameter() -> None:
    """7 strands of 0.30 mm are 0.495 mm2; a diameter written with one digit less is three times as vague."""
    near = built(Conductor(3, None, 7, "0.30 mm"), weight="32 kg", length="1000 m")
    vague = built(Conductor(3, None, 7, "0.3 mm"), weight="32 kg", length="1000 m")
    assert near.strand is not None
    assert near.strand.likely == Fraction("0.3")
    assert near.share.likely == vague.share.likely
    assert vague.share.high - vague.share.low > 3 * (near.share.high - near.share.low)


def test_the_strand_of_a_size() -> None:
    """Of a size in so many strands the strand's diameter is worked out: 26 make 16 AWG of 0.253 mm each."""
    strand = built(Conductor(3, "16 AWG", 26)).strand
    assert strand is not None
    assert abs(strand.likely - Fraction("0.253")) < Fraction("0.0005")


def test_the_copper_number_is_told_and_not_used() -> None:
    """The share by copper number is 9.6/8.89 of the nominal physical one, and above the likely share."""
    found = built(Conductor(1, "16 AWG", 1), weight="16 lb")
    assert found.number_share is not None
    assert found.number_share.likely / found.share.likely == Fraction("9.6") / Fraction("8.89")


def test_no_more_copper_than_its_number() -> None:
    """Where gauge, strands and cores are all at their longest the copper number is where the range ends."""
    found = built(Conductor(3, "16 AWG", 26), weight="38.0 lb", length_within="0 ft")
    assert found.number_share is not None
    assert found.share.high == found.number_share.high
    assert round(found.number_share.likely, 4) == Fraction("0.6665")
    strands = built(Conductor(3, None, 7, "0.30 mm"), weight="32 kg", length="1000 m")
    assert strands.number_share is not None
    assert strands.share.high <= strands.number_share.high


def test_the_limit_of_fine_strands_has_their_lay_in_it() -> None:
    """What keeps class 5's 13.3 ohm/km with 1.5 % of lay is 17.241/13.3 x 1.015 mm2, 1.015 as long."""
    found = built(
        Conductor(1, "1.5 mm2", 30), weight="20 kg", length="1000 m", length_within="0 m", scale="0 kg"
    )
    least = Fraction("17.241") / Fraction("13.3") * Fraction("1.015") ** 2
    assert found.share.low == least * Fraction("8.89") / 20
    assert found.share.likely == (least + Fraction("1.5") * Fraction("1.02")) / 2 * Fraction("8.89") / 20


def test_conductors_that_differ_are_added() -> None:
    """Two phases and a thinner earth: each counts with its own cross-section."""
    parts = [built(Conductor(n, size), weight="38 lb") for n, size in ((2, "14 AWG"), (1, "16 AWG"))]
    whole = built(Conductor(2, "14 AWG"), Conductor(1, "16 AWG"), weight="38 lb")
    assert whole.share.low == parts[0].share.low + parts[1].share.low
    assert whole.strand is None


def test_more_copper_than_cable_is_refused() -> None:
    """Conductors that outweigh the cable are a slip of the pen, and named as one."""
    with pytest.raises(Refused, match="weigh more than the cable") as error:
        built(Conductor(3, "10 AWG"))
    assert at(error) == [("weight",)]


def test_all_faults_of_a_build_at_once() -> None:
    """What cannot be read of conductors, weight and length is told together, each where it stands."""
    with pytest.raises(Refused) as error:
        built(
            Conductor(1, "16 gauge"), Conductor(1, None, None, "1 mm"), Conductor(1, "1 mm2", None, "1 mm"),
            weight="38", length="0 ft",
        )  # fmt: skip
    assert at(error) == [
        ("conductors", 0, "size"),
        ("conductors", 1, "strands"),
        ("conductors", 2, "size"),
        ("weight",),
        ("length",),
    ]


@pytest.mark.parametrize("size", ["16", " 1.5"])
def test_a_size_without_a_unit(size: str) -> None:
    """A bare number as a size can be a gauge, a cross-section or a diameter: all three are told."""
    with pytest.raises(Refused) as error:
        built(Conductor(3, size))
    (fault,) = error.value.faults
    number = size.strip()
    meant = (f"{number} AWG", f"{number} mm2", f"{number} mm")
    assert (fault.at, fault.suggestions) == (("conductors", 0, "size"), meant)
    assert all(f"'{text}'" in fault.detail for text in meant)


@pytest.mark.parametrize("size", ["AWG", "x 3", "thick"])
def test_a_size_that_is_none(size: str) -> None:
    """What begins with no number is told as no size, with the three ways to write one."""
    with pytest.raises(Refused, match="is no size of a conductor: write it as '16 AWG'") as error:
        built(Conductor(3, size))
    assert at(error) == [("conductors", 0, "size")]


def test_a_length_without_a_unit() -> None:
    """A cable is measured in metres or feet, and that is what is told."""
    with pytest.raises(Refused, match="'1000' has no unit: write '1000 m' or '1000 ft'") as error:
        built(Conductor(3, "16 AWG"), length="1000")
    assert error.value.faults[0].suggestions == ("1000 m", "1000 ft")


def test_a_sample_before_and_after() -> None:
    """297 g of copper out of 512 g on a scale of 1 g: 57.9 to 58.2 %."""
    share = copper_of_sample(Sample("512 g", "297 g")).share
    assert (share.low, share.likely, share.high) == (
        Fraction("296.5") / Fraction("512.5"),
        Fraction(297, 512),
        Fraction("297.5") / Fraction("511.5"),
    )


def test_a_coarse_scale_says_less() -> None:
    """The same sample on a scale of 20 g leaves nine points open, not a third of one."""
    fine, coarse = (copper_of_sample(Sample("512 g", "297 g", scale)).share for scale in ("1 g", "20 g"))
    assert coarse.low < fine.low < fine.likely == coarse.likely < fine.high < coarse.high


@pytest.mark.parametrize(
    ("sample", "where"),
    [
        (Sample("297 g", "512 g"), [("copper",)]),
        (Sample("1 g", "0 g"), [("copper",)]),
        (Sample("10 g", "5 g", "20 g"), [("weight",), ("copper",)]),
        (Sample("512", "297 g", "1"), [("scale",), ("weight",)]),
    ],
)
def test_a_sample_that_cannot_be(sample: Sample, where: list[tuple[str]]) -> None:
    """More copper than cable, no copper, and a scale too coarse to tell are refused with where they stand."""
    with pytest.raises(Refused) as error:
        copper_of_sample(sample)
    assert at(error) == where


@given(st.integers(100, 5000), st.integers(5, 95))
@settings(max_examples=25)
def test_the_range_holds_what_error_propagation_finds(weight: int, percent: int) -> None:
    """`uncertainties` takes readings as spread evenly over their step: its standard deviation fits in."""
    copper = max(weight * percent // 100, 1)
    found = copper_of_sample(Sample(f"{weight} g", f"{copper} g")).share
    even = 1 / 12**0.5
    spread = ufloat(copper, even) / ufloat(weight, even)
    assert float(found.likely) == pytest.approx(spread.nominal_value)
    assert float(found.low) <= spread.nominal_value - spread.std_dev
    assert spread.nominal_value + spread.std_dev <= float(found.high) or found.high == 1


def test_strands_by_their_gauge() -> None:
    """26 strands of 30 AWG are 16 AWG: a gauge is good to 1 % of its diameter, not to its digits."""
    fine = built(Conductor(3, None, 26, "30 AWG"))
    whole = built(Conductor(3, "16 AWG", 26))
    assert abs(fine.share.likely / whole.share.likely - 1) < Fraction("0.03")
    assert fine.share.high / fine.share.low - whole.share.high / whole.share.low < Fraction("0.001")
    assert built(Conductor(1, None, 7, "4/0 AWG"), weight="9000 lb").share.high < 1

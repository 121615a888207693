"""Expected life against published formulas and worked numbers."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.capacitors.end_of_life import criterion_words
from fleet.capacitors.part_life import MOST_YEARS, Rated, Use, part_life
from fleet.capacitors.ripple_heat import (
    Ripple,
    air_from_can,
    can_rise,
    core_over_can,
    factor_by_core_rise,
    factor_by_ripple_base,
    joined_ripple,
)
from fleet.capacitors.ten_kelvin import implied_activation_energy, temperature_factor
from fleet.capacitors.voltage_factor import voltage_factor
from fleet.errors import BadInput

RATED = Rated(hours=2000, temperature_c=105, volts=25, ripple_ma=1000)


# 2000 h at 105 °C in 65 °C and so on: arithmetic of the rule (check value O).
@pytest.mark.parametrize(
    ("hours", "rated", "air", "life"),
    [(2000, 105, 65, 32_000), (5000, 105, 45, 320_000), (2000, 85, 45, 32_000)],
)
def test_ten_kelvin_rule(hours, rated, air, life):
    assert hours * temperature_factor(rated, air) == life
    got = part_life(Rated(hours=hours, temperature_c=rated), Use(air_c=air))
    assert got.hours == pytest.approx(life, rel=1e-14)


def test_the_rule_agrees_with_a_published_pair_fifteen_kelvin_apart():
    # Beckhoff, PS9011 manual: 166,000 h at 40 °C and 469,000 h at 25 °C; two figures of three
    # digits each, so their ratio is good to half a per cent.
    assert temperature_factor(40, 25) == pytest.approx(469_000 / 166_000, rel=5e-3)


# 8.617333e-5 eV/K; worked for the facts collected for this project.
@pytest.mark.parametrize(("at", "energy"), [(45, 0.624), (65, 0.703), (95, 0.832)])
def test_no_single_activation_energy_goes_with_the_rule(at, energy):
    assert implied_activation_energy(at) == pytest.approx(energy, abs=5e-4)


def test_core_rise_form():
    # Rubycon lifetime sheet; 2000 h, 105 °C, 65 °C, half the ripple, rise 5 K: core 1.25 K.
    assert 32_000 * factor_by_core_rise(0.5) == pytest.approx(43_483.5, abs=0.05)
    assert factor_by_core_rise(1.0) == 1.0
    # rises of the other series, by hand from the printed formula
    by_hand = 2 ** (10 / 7.5 - 2.5 / 9.375)
    assert factor_by_core_rise(0.5, 10.0) == pytest.approx(by_hand, rel=1e-12)
    with pytest.raises(BadInput, match="rated for more"):
        factor_by_core_rise(1.01)


def test_ripple_base_form():
    # Albertsen (Jianghai): K 2 within the rated ripple, 4 beyond for 105 °C parts
    assert factor_by_ripple_base(0.5, 105) == pytest.approx(1.29684, abs=5e-6)
    assert factor_by_ripple_base(1.2, 105) == pytest.approx(0.737135, abs=5e-7)
    assert factor_by_ripple_base(1.2, 85) == pytest.approx(2 ** (-0.44 / 2), rel=1e-12)


def test_worked_example_with_volts():
    # 2000 h at 105 °C, 65 °C, 0.5 of 1.0 A, 5 K, 320 of 400 V: 72,495.5 h; with 1.2 A 41,207.1 h
    warm, volts = temperature_factor(105, 65), voltage_factor(320, 400)
    assert volts == pytest.approx(1.74693, abs=5e-6)
    assert 2000 * warm * volts * factor_by_ripple_base(0.5, 105) == pytest.approx(
        72_495.5, abs=0.05
    )
    assert 2000 * warm * volts * factor_by_ripple_base(1.2, 105) == pytest.approx(
        41_207.1, abs=0.05
    )
    # the two forms side by side: part_life takes the lower one
    rated = Rated(hours=2000, temperature_c=105, volts=400, ripple_ma=1000)
    use = Use(air_c=65, ripple=(Ripple(500),), volts=320)
    assert part_life(rated, use, large_can=True).hours == pytest.approx(72_495.5, abs=0.05)
    beyond = part_life(rated, Use(air_c=65, ripple=(Ripple(1200),), volts=320), large_can=True)
    assert beyond.hours == pytest.approx(41_207.1, abs=0.05)
    assert any("makers do not permit it" in w for w in beyond.warnings)


def test_voltage_gains_nothing_more_below_six_tenths():
    # printed as 3.59 below 0.6
    assert voltage_factor(1, 400) == voltage_factor(240, 400) == pytest.approx(3.59, abs=5e-3)
    assert voltage_factor(400, 400) == 1.0


def test_small_parts_gain_nothing_by_volts():
    # makers of small radial parts count none (from memory)
    assert part_life(RATED, Use(air_c=65, volts=5)).voltage_factor == 1.0


def test_ripple_at_several_frequencies_adds_in_squares():
    # sqrt(sum (I/k)²): a maker's guide, equations 4.5 and 4.6; 300/0.75 = 400 and 300: 500 by hand
    assert joined_ripple([Ripple(300, 0.75), Ripple(300)]) == pytest.approx(500)
    assert joined_ripple([]) == 0.0
    for wrong in (Ripple(-1), Ripple(math.nan), Ripple(100, 0.0)):
        with pytest.raises(BadInput):
            joined_ripple([wrong])


def test_can_and_core():
    # By hand: 1 A through 0.1 ohm is 0.1 W; a can of 10 x 20 mm has pi/4 1 (1 + 8) = 7.0686 cm²;
    # 2.3e-3 S^0.8 = 0.010996 W/K (S^0.8 = 4.7807)
    assert can_rise(1000, 0.1, 10, 20) == pytest.approx(9.0946, abs=5e-4)
    # ratio of core to can top by diameter: Rubycon lifetime sheet
    ratios = [core_over_can(d) for d in (5, 8, 10, 12.5, 16, 18, 22, 25, 30, 35)]
    assert ratios == [1.0, 1.0, 1.1, 1.1, 1.2, 1.2, 1.3, 1.4, 1.5, 1.6]
    assert core_over_can(14) == 1.2  # between two: the wider
    assert air_from_can(60, 5.5, 10) == pytest.approx(55)
    with pytest.raises(BadInput, match="35 mm"):
        core_over_can(40)


def test_no_more_than_fifteen_years_is_claimed():
    # Nichicon: fifteen years is generally considered the maximum; 131,400 h (Beckhoff)
    assert MOST_YEARS * 8760 == 131_400
    long = part_life(Rated(hours=5000, temperature_c=105), Use(air_c=45))
    assert (long.years, long.capped) == (15.0, True)
    assert long.years_by_rule == pytest.approx(320_000 / 8760)  # 36.5 years
    short = part_life(Rated(hours=2000, temperature_c=105), Use(air_c=65))
    assert (round(short.years, 2), short.capped) == (3.65, False)


def test_nothing_is_gained_below_forty_degrees():
    # the calculator of the same maker takes air from 40 °C up
    cold, forty = (part_life(RATED, Use(air_c=air)) for air in (5, 40))
    assert cold.hours == forty.hours
    assert "Counted as 40 °C" in cold.sentences[0]


def test_where_the_rule_is_loose_is_said():
    assert part_life(RATED, Use(air_c=75)).warnings == ()
    (below,) = part_life(RATED, Use(air_c=50)).warnings
    assert "Below 60 °C" in below
    (hot,) = part_life(Rated(hours=2000, temperature_c=125), Use(air_c=80)).warnings
    assert "above 105 °C" in hot


def test_fewer_powered_hours_last_longer_and_idle_ones_can_be_counted():
    use = Use(air_c=65, hours_per_year=2000)
    assert part_life(RATED, use).years_by_rule == pytest.approx(16.0)
    idle = Use(air_c=65, hours_per_year=2000, off_c=45)
    # by hand: 2000 / 32,000 of a life on, 6,760 / 128,000 off
    by_hand = 1 / (2000 / 32_000 + 6760 / 128_000)
    assert part_life(RATED, idle).years_by_rule == pytest.approx(by_hand)


@pytest.mark.parametrize(
    ("rated", "use", "said"),
    [
        (Rated(hours=0, temperature_c=105), Use(air_c=45), "rated hours"),
        (Rated(hours=math.nan, temperature_c=105), Use(air_c=45), "rated hours"),
        (Rated(hours=2000, temperature_c=85), Use(air_c=90), "rated higher"),
        (Rated(hours=2000, temperature_c=85), Use(air_c=math.nan), "rated higher"),
        (RATED, Use(air_c=45, volts=40), "rated for more"),
        (RATED, Use(air_c=45, hours_per_year=9000), "8,760"),
        (Rated(hours=2000, temperature_c=105), Use(air_c=45, ripple=(Ripple(1),)), "rated ripple"),
        (Rated(hours=2000, temperature_c=105, technology="Polymer"), Use(air_c=45), "polymer"),
        (
            Rated(hours=2000, temperature_c=105, technology="solid tantalum"),
            Use(air_c=45),
            "liquid",
        ),
        (Rated(hours=1e308, temperature_c=105), Use(air_c=45), "rated hours cannot be 1e.308 h"),
        (Rated(hours=5e-324, temperature_c=105), Use(air_c=45), "rated hours cannot be"),
        (Rated(hours=2000, temperature_c=1e5), Use(air_c=45), "rated temperature cannot be"),
        (
            Rated(hours=2000, temperature_c=105, ripple_ma=5),
            Use(air_c=65, ripple=(Ripple(500),)),
            "100 times what the part is rated for",
        ),
        (RATED, Use(air_c=45, ripple=(Ripple(1e308),)), "a ripple current is 1e.308 mA"),
        (RATED, Use(air_c=45, ripple=(Ripple(1, 1e-300),)), "frequency factor is 1e-300"),
        (RATED, Use(air_c=45, hours_per_year=5e-324), "powered hours a year cannot be"),
        (
            Rated(hours=2000, temperature_c=105, ripple_ma=500, core_rise_k=40),
            Use(air_c=65, ripple=(Ripple(100),)),
            "core rise cannot be 40 K",
        ),
    ],
)
def test_what_cannot_be_is_refused_in_a_sentence(rated, use, said):
    with pytest.raises(BadInput, match=said):
        part_life(rated, use)


@given(
    air=st.floats(40.0, 104.0),
    warmer=st.floats(0.0, 1.0),
    share=st.floats(0.0, 1.5),
    more=st.floats(0.0, 0.5),
    hours=st.floats(1.0, 8760.0),
)
def test_heat_and_ripple_never_lengthen_a_life(air, warmer, share, more, hours):
    def life(at, flowing):
        use = Use(air_c=at, ripple=(Ripple(1000 * flowing),), hours_per_year=hours)
        return part_life(RATED, use)

    first = life(air, share)
    assert 0.0 < first.years <= MOST_YEARS
    assert first.years <= first.years_by_rule
    assert life(air + warmer, share).hours <= first.hours * (1 + 1e-12)
    assert life(air, share + more).hours <= first.hours * (1 + 1e-12)


def test_both_ripple_forms_meet_at_the_rated_ripple():
    assert factor_by_core_rise(1.0) == factor_by_ripple_base(1.0, 105) == 1.0
    beyond = factor_by_ripple_base(1.0 + 1e-9, 105)
    assert beyond == pytest.approx(1.0, abs=1e-8)  # no step where the base changes


def test_a_life_says_which_limits_it_runs_to():
    assert "20 % of capacitance" in criterion_words("endurance")
    assert "300 %" in criterion_words("useful life")
    assert "endurance" in criterion_words(None)
    with pytest.raises(BadInput, match="choose endurance or useful life"):
        criterion_words("dead")

import polars as pl
import pytest

from fleet.charts import MOST_GROUPS, name_groups, theme
from fleet.charts.actions import COLOURS as ACTION_COLOURS
from fleet.errors import BadInput


def luminance(colour):
    """Relative luminance of sRGB, as defined in WCAG 2.2."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one, other):
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_contrast_of_black_on_white_is_21():
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21.0)


@pytest.mark.parametrize("background", ["#FFFFFF", "#0E1117"])
@pytest.mark.parametrize("colour", sorted({*theme.COLOURS, *ACTION_COLOURS}))
def test_marks_stand_out_on_light_and_on_dark(colour, background):
    # WCAG 2.2, success criterion 1.4.11: graphics need 3 to 1.
    assert contrast(colour, background) >= 3.0


def test_no_two_groups_share_colour_and_dash():
    pairs = {
        (theme.COLOURS[i % len(theme.COLOURS)], theme.DASHES[i % len(theme.DASHES)])
        for i in range(MOST_GROUPS)
    }
    assert len(pairs) == MOST_GROUPS


def test_groups_are_named_in_words():
    frame = pl.DataFrame({"model": ["KB-1", "KB-1"], "batch": ["B7", None]})
    assert name_groups(frame, ["model", "batch"])["group"].to_list() == [
        "KB-1, B7",
        "KB-1, batch unknown",
    ]
    assert name_groups(frame, [])["group"].to_list() == ["all units"] * 2


def test_too_many_groups_say_what_to_do():
    frame = pl.DataFrame({"group": [str(i) for i in range(MOST_GROUPS + 1)]})
    with pytest.raises(BadInput, match="choose fewer"):
        theme.check_groups(frame)


def test_faint_stretches_hang_on_to_their_neighbours_and_do_not_leap():
    frame = pl.DataFrame(
        {
            "group": ["a"] * 5 + ["b"] * 2,
            "age": [1.0, 2.0, 3.0, 4.0, 5.0, 1.0, 2.0],
            "supported": [False, True, True, False, False, True, True],
        }
    )
    whole, ends, rest = theme.split(frame)
    assert whole.select("group", "age", "run").rows() == [
        ("a", 2, 1),
        ("a", 3, 1),
        ("b", 1, 0),
        ("b", 2, 0),
    ]
    assert ends.select("group", "age").rows() == [("a", 3), ("b", 2)]
    assert rest.select("group", "age", "run").rows() == [
        ("a", 1, 0),
        ("a", 2, 0),
        ("a", 3, 2),
        ("a", 4, 2),
        ("a", 5, 2),
    ]


def test_a_group_looks_the_same_wherever_others_are_missing():
    among = ["a", "b", "c"]
    assert theme.colour(["a", "c"], among=among).to_dict()["scale"] == {
        "domain": ["a", "c"],
        "range": [theme.COLOURS[0], theme.COLOURS[2]],
    }
    assert theme.shape(["c"], among=among).to_dict()["scale"]["range"] == [theme.SHAPES[2]]
    dashes = theme.dash(["x", "b"], among=among).to_dict()["scale"]["range"]
    assert dashes == [list(theme.DASHES[3]), list(theme.DASHES[1])]  # strangers come after

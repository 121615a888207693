"""Lead form and lead spacing: what a radial part in an axial place needs, and so on."""

import polars as pl

from fleet.capacitors.rule import (
    CARE,
    FITS,
    OWN_RULE,
    PRACTICE,
    RECORDS,
    REFUSED,
    SHEETS,
    Point,
    Rule,
    part,
    place,
    say,
)
from fleet.capacitors.values import number_said

SAME_MM = 0.3  # data sheets round; holes have play
FORMED_MM = 5.0  # by how much leads of a radial part can be spread or drawn together
_PADS_MM = 1.0
_EACH_END_MM = 2.0  # straight lead before the bend, so that the seal is not strained (from memory)

# Usual lead spacing of radial parts by diameter (makers' data sheets, from memory).
_SPACINGS = ((4.0, 1.5), (5.0, 2.0), (6.3, 2.5), (8.0, 3.5), (13.0, 5.0), (18.0, 7.5))


def usual_spacing(diameter: pl.Expr) -> pl.Expr:
    """Lead spacing in mm that radial parts of a diameter in mm usually have; null above 18 mm."""
    spacing = pl.lit(None, dtype=pl.Float64)
    for up_to, usual in reversed(_SPACINGS):
        spacing = pl.when(diameter <= up_to).then(pl.lit(usual)).otherwise(spacing)
    return spacing


def _from_to(of_place: str, of_part: str) -> pl.Expr:
    return (place("lead_form") == of_place) & (part("lead_form") == of_part)


FORM = Point(
    "lead form",
    ("lead_form",),
    ("lead_form",),
    (
        Rule(
            place("lead_form").is_null(),
            CARE,
            say("how the old part's leads run (axial, radial, snap-in, smd) is not recorded"),
            RECORDS,
            ("lead form",),
        ),
        Rule(
            part("lead_form").is_null(),
            CARE,
            say("how its leads run (axial, radial, snap-in, smd) is not told"),
            RECORDS,
            ("lead form of the part",),
        ),
        Rule(
            place("lead_form") == part("lead_form"),
            FITS,
            say("{}, as the original", part("lead_form")),
            RECORDS,
        ),
        Rule(
            _from_to("axial", "radial"),
            CARE,
            say(
                "a radial part in an axial place stands on the board: lengthen and sleeve the lead "
                "to the far hole, fix the body, and read again which hole is positive (on the "
                "axial can the indented end)"
            ),
            PRACTICE,
        ),
        Rule(
            _from_to("radial", "axial"),
            CARE,
            say(
                "an axial part in a radial place stands on end: sleeve the lead that runs back "
                "down, fix the body; the indented end is positive"
            ),
            PRACTICE,
        ),
        Rule(
            _from_to("snap-in", "radial"),
            CARE,
            say("wire leads in holes for snap-in pins: fill the holes well and fix the body"),
            PRACTICE,
        ),
        Rule(
            (place("lead_form") == "smd") & part("lead_form").is_in(["radial", "axial"]),
            CARE,
            say(
                "wire leads on pads made for surface mounting: form them flat, fix the body, and "
                "mind that pads lift off"
            ),
            PRACTICE,
        ),
        Rule(
            part("lead_form") == "snap-in",
            REFUSED,
            say("snap-in pins do not go into holes for {} leads", place("lead_form")),
            PRACTICE,
        ),
        Rule(
            part("lead_form") == "smd",
            REFUSED,
            say("a part for surface mounting has no leads for a place with holes"),
            PRACTICE,
        ),
        Rule(
            place("lead_form") != part("lead_form"),
            REFUSED,
            say("{} leads in a place for {}", part("lead_form"), place("lead_form")),
            PRACTICE,
        ),
    ),
)

_has = place("lead_form")
_alike = place("lead_form") == part("lead_form")
_off = (part("lead_spacing_mm") - place("lead_spacing_mm")).abs()
_mm = (number_said(part("lead_spacing_mm")), number_said(place("lead_spacing_mm")))
_usual = usual_spacing(part("diameter_mm"))
_told = pl.all_horizontal(
    place("lead_spacing_mm").is_not_null(), part("lead_spacing_mm").is_not_null()
)
_reach = part("length_mm") + 2.0 * _EACH_END_MM

SPACING = Point(
    "lead spacing",
    ("lead_spacing_mm", "lead_form"),
    ("lead_spacing_mm", "lead_form", "diameter_mm", "length_mm"),
    (
        # Axial leads are bent to the holes: what counts is whether the body goes between.
        Rule(
            _alike & (_has == "axial") & (_reach <= place("lead_spacing_mm")),
            FITS,
            say(
                "holes {} mm apart leave room to bend the leads of a body {} mm long",
                _mm[1],
                number_said(part("length_mm")),
            ),
            SHEETS,
        ),
        Rule(
            _alike & (_has == "axial") & (part("length_mm") >= place("lead_spacing_mm")),
            REFUSED,
            say(
                "holes {} mm apart, a body {} mm long does not go between them",
                _mm[1],
                number_said(part("length_mm")),
            ),
            RECORDS,
        ),
        Rule(
            _alike & (_has == "axial") & (_reach > place("lead_spacing_mm")),
            CARE,
            say(
                "holes {} mm apart leave little to bend the leads of a body {} mm long: bend them "
                f"{_EACH_END_MM:g} mm from the seal at least",
                _mm[1],
                number_said(part("length_mm")),
            ),
            SHEETS,
        ),
        Rule(
            _alike & (_has != "axial") & (_off <= SAME_MM),
            FITS,
            say("leads {} mm apart, the holes {} mm", *_mm),
            RECORDS,
        ),
        Rule(
            (_has == "snap-in") & _alike & _told,
            REFUSED,
            say("snap-in pins {} mm apart do not go into holes {} mm apart", *_mm),
            PRACTICE,
        ),
        Rule(
            (_has == "smd") & _alike & (_off > _PADS_MM),
            REFUSED,
            say("feet {} mm apart do not reach pads {} mm apart", *_mm),
            PRACTICE,
        ),
        Rule(
            (_has.is_in(["radial", "snap-in"]))
            & (part("lead_form") == "radial")
            & (_off <= FORMED_MM),
            CARE,
            say("leads {} mm apart have to be formed to holes {} mm apart", *_mm),
            PRACTICE,
        ),
        Rule(
            (_has.is_in(["radial", "snap-in"])) & (part("lead_form") == "radial") & _told,
            REFUSED,
            say("leads {} mm apart are too far from holes {} mm apart to be formed", *_mm),
            OWN_RULE,
        ),
        Rule(
            _alike & (_has == "smd") & _told,
            CARE,
            say("feet {} mm apart, the pads {} mm", *_mm),
            PRACTICE,
        ),
        Rule(
            _alike
            & (_has == "radial")
            & part("lead_spacing_mm").is_null()
            & ((_usual - place("lead_spacing_mm")).abs() <= SAME_MM),
            FITS,
            say(
                "its lead spacing is not told; radial parts {} mm across usually have the {} mm of "
                "the holes",
                number_said(part("diameter_mm")),
                number_said(place("lead_spacing_mm")),
            ),
            SHEETS,
        ),
        Rule(
            _alike
            & (_has != "axial")
            & part("lead_spacing_mm").is_null()
            & place("lead_spacing_mm").is_not_null(),
            CARE,
            say("its lead spacing is not told; the holes are {} mm apart", _mm[1]),
            RECORDS,
            ("lead spacing of the part",),
        ),
        Rule(
            _alike & (_has != "axial") & place("lead_spacing_mm").is_null(),
            CARE,
            say("how far the holes are apart was not measured"),
            RECORDS,
            ("lead spacing",),
        ),
    ),
)

"""The methods give the prior's numbers as the code has them."""

import re
from pathlib import Path

from fleet.fits.prior import Prior

METHODS = Path(__file__).resolve().parents[2] / "fleet" / "METHODS.md"


def test_the_table_of_the_prior_is_the_default_prior():
    section = METHODS.read_text().split("### prior\n")[1].split("\n### ")[0]
    rows = re.findall(r"^\| [^|]+ \| ([\d., ]+) \|$", section, flags=re.MULTILINE)
    written = [tuple(float(number) for number in row.split(",")) for row in rows]
    prior = Prior()
    assert written == [
        (prior.no_wear_out_share,),
        prior.no_wear_out_shape,
        prior.wear_out_shape,
        prior.scale_years,
        (prior.spread,),
        (prior.renewed_sd,),
        prior.heat,
        (prior.idle_share,),
    ]

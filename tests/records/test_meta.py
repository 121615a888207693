import pytest

from fleet.errors import BadInput
from fleet.records import meta_table, read_meta


def test_absent_is_nothing(tmp_path):
    assert read_meta(tmp_path).source is None
    assert meta_table(read_meta(tmp_path)) is None


def test_values_and_the_record_they_stand_for(tmp_path):
    (tmp_path / "meta.json").write_text(
        '{"source": "Evening one", "collecting_since": 2014, "keeps_roll_call": true,'
        ' "hemisphere": "south"}'
    )
    meta = read_meta(tmp_path / "units.csv")
    assert (meta.source, meta.collecting_since, meta.keeps_roll_call) == (
        "Evening one",
        "2014",
        "yes",
    )
    assert meta_table(meta).frame.drop("line").row(0) == (
        "Evening one",
        "2014",
        None,
        "yes",
        "south",
    )


def test_a_name_alone_is_no_record(tmp_path):
    (tmp_path / "meta.json").write_text('{"source": "Evening one"}')
    assert meta_table(read_meta(tmp_path)) is None


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("{", "is not JSON"),
        ("[]", "should be an object"),
        ('{"sourse": "x"}', r"did you mean source\?"),
        ('{"collecting_since": "2014"}', "has no source"),
        ('{"source": ["a"]}', "source should be one text"),
    ],
)
def test_bad_meta(tmp_path, text, message):
    (tmp_path / "meta.json").write_text(text)
    with pytest.raises(BadInput, match=message):
        read_meta(tmp_path)

"""Whether lives of a model were taken together, in a sentence for each question asked of them."""

from collections.abc import Mapping
from typing import Any

from fleet.flow.read_aloud import chance_words, number

Row = Mapping[str, Any]

_FEW = 20.0  # failures below which only a gross difference could show; our own rule
_UNLIKELY = 0.05
_APART = {
    "batches": "its batches do not live alike{chance}; failures: {groups}. One life for all of "
    "them is right for none",
    "revisions": "its revisions do not live alike{chance}; failures: {groups}. Keep them as models "
    "of their own",
    "positions": "failures at different positions come at different ages{chance}; failures: "
    "{groups}. One curve stands for a mix of them",
    "mixture": "its lives are not of one kind (no one Weibull fits them){chance}. Do not read its "
    "fit beyond the ages seen",
}
# Where to read on, where there is a command line.
_SEE = {
    "batches": ": see fleet suspects, and fleet fit --by model,batch",
    "positions": ": see fleet fit --by model,position",
    "mixture": "; fleet fit --by model --check says what fits better",
}
_TOGETHER = {
    "build_year": "nothing says that life depends on when a machine was built",
    "batches": "nothing says that its batches differ",
    "revisions": "nothing says that its revisions differ",
    "positions": "nothing says that failures at different positions come at different ages",
    "mixture": "nothing says that its lives are of more than one kind",
}
_UNTESTED = {
    "build_year": "whether life depends on the build year",
    "batches": "whether its batches differ",
    "revisions": "whether its revisions differ",
    "positions": "whether positions fail at different ages",
    "mixture": "whether its lives are of one kind",
}


def pooling_sentence(row: Row, *, looks: int) -> str:
    """One row of flow.pooling.pooling in words; `looks`: how many tests were made together."""
    model, question = row["model"], row["question"]
    if question == "parts":
        return f"{model}: {_parts(row)}"
    if row["answer"] == "not tested":
        return (
            f"{model}: {_UNTESTED[question]} was not tested ({row['reason']}), so they are taken "
            "together untested"
        )
    if row["answer"] == "take together":
        return f"{model}: {_TOGETHER[question]}{_hint(row)}"
    looked = ", counting all batches looked at" if question == "batches" else _of(looks)
    chance = (
        f" (chance of as much without a difference: {chance_words(row['p_corrected'])}{looked})"
    )
    if question == "build_year":
        return f"{model}: {_trend(row)}{chance}"
    apart = _APART[question].format(groups=row["groups"], chance=chance)
    return f"{model}: {apart}{_SEE.get(question, '')}"


def without_commands(sentence: str) -> str:
    """A sentence of `pooling_sentence` that names no command."""
    for see in _SEE.values():
        sentence = sentence.removesuffix(see)
    return sentence


def _of(looks: int) -> str:
    return f", counting {looks} such looks" if looks > 1 else ""


def _hint(row: Row) -> str:
    failures = f"{number(row['failures'])} failures"
    if row["p_value"] <= _UNLIKELY:
        return (
            f" beyond what chance makes among so many looks: a hint, no more ({failures}); "
            "they are taken together"
        )
    few = ", too few for any but a gross difference to show" if row["failures"] < _FEW else ""
    return f" ({failures}{few}); they are taken together"


def _trend(row: Row) -> str:
    effect = row["effect"]
    if effect is None:
        return "life depends on when a machine was built"
    way = "less" if effect < 1.0 else "more"
    return (
        f"life depends on when a machine was built: five years later means {number(effect)} times "
        f"as long, {way}. One curve for all years misjudges both the oldest and the youngest"
    )


def _parts(row: Row) -> str:
    rule = "original and replaced parts are always kept apart"
    if row["p_value"] is None:
        return f"{rule} ({row['reason']})"
    if row["p_value"] <= _UNLIKELY:
        return f"{rule}, and here they do differ; failures: {row['groups']}"
    return f"{rule}, though here no difference shows; failures: {row['groups']}"

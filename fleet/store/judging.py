"""What judging arriving records is made of: the columns it reads, verdicts, families of ids."""

import polars as pl

from fleet.frames import KINDS

KEPT, KNOWN, REFUSED = "kept", "already_known", "rejected"

INCOMING = pl.Schema(
    {
        "kind": pl.String(),
        "record": pl.String(),
        "content": pl.String(),
        "supersedes": pl.String(),
        "withdraws": pl.String(),  # null but for the kind withdrawn
        "withdraws_kind": pl.String(),
    }
)
HELD = pl.Schema(
    {
        "kind": pl.String(),
        "record": pl.String(),
        "content": pl.String(),
        "supersedes": pl.String(),
        "withdrawn_by": pl.String(),
    }
)


def root_of(id_column: str) -> pl.Expr:
    """The id without the ~2, ~3, ... of a record entered again."""
    id_ = pl.col(id_column)
    return (
        pl.when(id_.str.contains("~", literal=True))
        .then(id_.str.replace(r"~[0-9]+$", ""))
        .otherwise(id_)
    )


def refused() -> pl.Expr:
    """Whether a row has been refused."""
    return (pl.col("verdict") == REFUSED).fill_null(False)


def judge(rows: pl.DataFrame, when: pl.Expr, verdict: str, reason: pl.Expr) -> pl.DataFrame:
    """Give the verdict to rows that have none yet (or were kept) and meet the condition."""
    open_ = pl.col("verdict").is_null() | (pl.col("verdict") == KEPT)
    hit = open_ & when.fill_null(False)
    return rows.with_columns(
        verdict=pl.when(hit).then(pl.lit(verdict)).otherwise("verdict"),
        reason=pl.when(hit).then(reason).otherwise("reason"),
    )


NO_REASON = pl.lit(None, pl.String)


def names_in(incoming: pl.DataFrame) -> pl.DataFrame:
    """Every family the rows name, once: column name."""
    names = [
        incoming.select(name=root_of(column)) for column in ("record", "supersedes", "withdraws")
    ]
    return pl.concat(names).drop_nulls().unique()


def keys_of(kind: str, frame: pl.DataFrame) -> pl.DataFrame:
    """The columns of INCOMING from clean rows of one kind."""
    if kind not in KINDS:
        raise KeyError(kind)
    if kind != "withdrawn":
        nothing = pl.lit(None, pl.String)
        return frame.select(
            pl.lit(kind).alias("kind"), "record", "content", "supersedes",
            withdraws=nothing, withdraws_kind=nothing,
        )  # fmt: skip
    # What a withdrawal says is its target, whatever its other columns hold.
    return frame.select(
        pl.lit(kind).alias("kind"), "record",
        content=pl.col("kind") + " " + pl.col("withdraws"),
        supersedes=pl.lit(None, pl.String),
        withdraws="withdraws", withdraws_kind="kind",
    )  # fmt: skip

"""What an import could not take, in lines."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import polars as pl

FATES = {"row": "", "field": "Kept, but for a cell that was emptied:", "noted": "Kept as it stands, but odd:"}
"""What became of a row or cell that was remarked on, and what to print above them."""


def refusal_lines(refused: "pl.DataFrame", left_out: int) -> list[str]:
    """Return how many rows were left out, and each reason with its first place.

    Args:
        refused: columns of the schema's REFUSED.
        left_out: rows left out.
    """
    lines = [f"{left_out:,} {'row' if left_out == 1 else 'rows'} left out{':' if left_out else '.'}"]
    for fate, title in FATES.items():
        found = _counted(refused.filter(fate=fate))
        lines += [title, *found] if title and found else found
    return lines


def _counted(refused: "pl.DataFrame") -> list[str]:
    """Return one line for each reason and field, the most frequent first, with the first place of each."""
    import polars as pl

    kinds = refused.group_by("reason", "field", maintain_order=True).agg(
        pl.len().alias("count"), pl.col("file", "line", "value").first()
    )
    return [
        f"  {kind['count']:>7,}  {kind['field'] or 'row'}: {kind['reason']}; first at {kind['file']} line "
        f"{kind['line']}: {kind['value']!r}"
        for kind in kinds.sort("count", descending=True, maintain_order=True).iter_rows(named=True)
    ]

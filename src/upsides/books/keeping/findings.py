"""What a look at the books found: one sentence a thing, well or not."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that was looked at.

    Args:
        subject: a short steady word, to count by.
        well: whether it is as it should be.
        words: a sentence: what was seen and, where it is not well, what to do.
    """

    subject: str
    well: bool
    words: str


def told(subject: str, wrong: list[str], well: str, remedy: str) -> Finding:
    """Return one finding from a list of what is wrong, of which the first few are named."""
    if not wrong:
        return Finding(subject, True, well)
    more = f", and {len(wrong) - MOST} more" if len(wrong) > MOST else ""
    return Finding(subject, False, f"{'; '.join(wrong[:MOST])}{more}. {remedy}")


MOST = 6
BRING_BACK = "Stop the program, keep a copy of the folder, and bring the last good backup back: upsides restore."

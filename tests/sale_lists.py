"""Lists of sales for tests: a shape, rows for it, and what reading them gives."""

from pathlib import Path
from tempfile import TemporaryDirectory

from upsides.results.lots import Listed, read_lots

SHAPE = """
format = 1
source = "autumn"
birthday = "01-01"
currency = "GBP"
[[table]]
name = "list"
has = ["Lot", "Sire", "Dam"]
[table.lot]
sale = "Sale"
day = { from = "Day", format = "%d/%m/%Y" }
number = "Lot"
name = "Name"
sex = { from = "Sex", codes = { c = "colt", f = "filly" } }
foaled = "Foaled"
age = "Age"
colour = "Colour"
sire = "Sire"
dam = "Dam"
dam_sire = "Damsire"
price = { from = "Price", missing = ["unsold"] }
"""
HEAD = "Sale,Day,Lot,Name,Sex,Foaled,Age,Colour,Sire,Dam,Damsire,Price\n"
ONE = "Moor End,07/10/2025,1,,c,2024,,Bay,Quill (ire),Sedge  Warbler,Reed (gb),12000\n"
TWO = "Moor End,08/10/2025,12A,Alder (ire),f,,1,chestnut,Quill (IRE),Marram,,unsold\n"
THREE = "Moor End,07/10/2025,2,,f,2024,,grey,Sedge,Marram,Reed (GB),\n"


def written(folder: Path, rows: str, name: str = "list.csv") -> tuple[Path, Path]:
    """Write rows below the usual header, and the shape; return both files."""
    shape, file = folder / "list.toml", folder / name
    shape.write_text(SHAPE, encoding="utf-8")
    file.write_text(HEAD + rows, encoding="utf-8")
    return file, shape


def listed(folder: Path, rows: str, **more: str) -> Listed:
    """Return what rows below the usual header give by the usual shape."""
    file, shape = written(folder, rows)
    return read_lots(file, shape, **more)


def read(rows: str) -> Listed:
    """Return the same without keeping a file."""
    with TemporaryDirectory() as folder:
        return listed(Path(folder), rows)

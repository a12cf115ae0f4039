"""Mixed-model equations against the worked examples of a textbook (Mrode 2014, chapters 3 to 5)."""

from pathlib import Path

import numpy as np
import polars as pl
import pytest
from scipy import sparse

from upsides.errors import CannotFitError
from upsides.ratings.henderson import RandomPart, Solutions, mixed_model_equations

DATA = Path(__file__).parent / "data"


def table(name: str, example: str) -> pl.DataFrame:
    rows = pl.read_csv(DATA / name, comment_prefix="#", infer_schema=False)
    return rows.filter(pl.col("example") == example)


def relationships(example: str) -> tuple[list[str], np.ndarray]:
    """Return the animals and their relationship matrix by the tabular rule (Henderson 1976)."""
    pedigree = table("mrode_pedigree.csv", example)
    animals = pedigree["animal"].to_list()
    A = np.zeros((len(animals) + 1,) * 2)  # the last row and column stand for an unknown parent
    at = {"0": -1} | {animal: i for i, animal in enumerate(animals)}
    for i, (sire, dam) in enumerate(zip(pedigree["sire"], pedigree["dam"], strict=True)):
        A[i, :i] = A[:i, i] = (A[at[sire], :i] + A[at[dam], :i]) / 2
        A[i, i] = 1 + A[at[sire], at[dam]] / 2
    return animals, A[:-1, :-1]


def indicator(values: pl.Series, levels: list[str]) -> np.ndarray:
    return (values.to_numpy()[:, None] == np.array(levels)).astype(float)


def printed(example: str, effect: str, levels: list[str], column: str = "published") -> list[float]:
    rows = table("mrode_solutions.csv", example).filter(pl.col("effect") == effect)
    found = dict(zip(rows["level"], rows[column], strict=True))
    return [float(found[level]) for level in levels]


def animal_model(example: str, variance: float, residual: float, *, standard_errors: bool = True) -> Solutions:
    records = table("mrode_records.csv", example)
    animals, A = relationships(example)
    X, Z = indicator(records["level1"], ["male", "female"]), indicator(records["animal"], animals)
    part = RandomPart(Z, np.linalg.inv(A) / variance, variance)
    y = records["value"].to_numpy().astype(float)
    return mixed_model_equations(y, X, [part], residual, standard_errors=standard_errors)


def test_animal_model() -> None:
    """Example 3.1: five calves, eight animals, solutions and reliabilities as printed."""
    found = animal_model("3.1", 20.0, 40.0)
    animals = [str(i) for i in range(1, 9)]
    assert found.fixed == pytest.approx(printed("3.1", "sex", ["male", "female"]), abs=5.1e-4)
    assert found.random[0] == pytest.approx(printed("3.1", "animal", animals), abs=5.1e-4)
    assert found.random[0] == pytest.approx(printed("3.1", "animal", animals, "recomputed"), abs=1e-6)
    inverse = printed("3.1", "animal", animals, "inverse_diagonal")
    assert found.random_se[0] ** 2 / 40 == pytest.approx(inverse, abs=1e-6)
    assert found.random_se[0][0] ** 2 / 40 == pytest.approx(0.471, abs=5e-4)
    assert found.reliability[0] == pytest.approx(printed("3.1", "animal", animals, "reliability"), abs=5.1e-5)


def test_sire_model() -> None:
    """Example 3.2: sires only, one a son of another."""
    found = animal_model("3.2", 5.0, 55.0)
    assert found.fixed == pytest.approx(printed("3.2", "sex", ["male", "female"]), abs=5.1e-4)
    assert found.random[0] == pytest.approx(printed("3.2", "sire", ["1", "3", "4"]), abs=5.1e-4)


def test_repeatability_model() -> None:
    """Example 4.1: five cows of two records, a genetic and a permanent part, as printed."""
    records = table("mrode_records.csv", "4.1")
    animals, A = relationships("4.1")
    X = np.hstack([indicator(records["level1"], ["1", "2"]), indicator(records["level2"], ["2", "4"])])
    cows = ["4", "5", "6", "7", "8"]
    genetic = RandomPart(indicator(records["animal"], animals), np.linalg.inv(A) / 20, 20.0)
    permanent = RandomPart(indicator(records["animal"], cows), np.eye(5) / 12, 12.0)
    found = mixed_model_equations(records["value"].to_numpy().astype(float), X, [genetic, permanent], 28.0)
    parities, herds = printed("4.1", "parity", ["1", "2"]), printed("4.1", "HYS", ["2", "4"])
    assert found.fixed == pytest.approx([*parities, *herds], abs=5.1e-4)
    assert found.random[0] == pytest.approx(printed("4.1", "animal", animals), abs=5.1e-4)
    assert found.random[1] == pytest.approx(printed("4.1", "permanent_environment", cows), abs=5.1e-4)


@pytest.mark.parametrize("example", ["5.1", "5.2"])
def test_two_traits(example: str) -> None:
    """Examples 5.1 and 5.2: two correlated traits, complete and with records missing, in Kronecker form."""
    records = table("mrode_records.csv", example)
    animals, A = relationships(example)
    traits = np.array(["WWG_kg", "PWG_kg"])
    is_trait = indicator(records["trait"], traits.tolist())
    sexes, cows = indicator(records["level1"], ["male", "female"]), indicator(records["animal"], animals)
    X = np.hstack([is_trait[:, [t]] * sexes for t in (0, 1)])
    Z = np.hstack([is_trait[:, [t]] * cows for t in (0, 1)])
    G, R = np.array([[20, 18], [18, 40]]), np.array([[40, 11], [11, 30]])
    trait = is_trait.argmax(axis=1)
    same = records["animal"].to_numpy()[:, None] == records["animal"].to_numpy()
    residual = np.linalg.inv(R[np.ix_(trait, trait)] * same)
    part = RandomPart(Z, np.kron(np.linalg.inv(G), np.linalg.inv(A)), np.repeat([20.0, 40.0], len(animals)))
    found = mixed_model_equations(records["value"].to_numpy().astype(float), X, [part], residual)
    rows = table("mrode_solutions.csv", example)
    for t, name in enumerate(traits):
        wanted = rows.filter((pl.col("trait") == name) & (pl.col("effect") == "animal"))["recomputed"]
        assert found.random[0][t * len(animals) :][: len(animals)] == pytest.approx(
            wanted.cast(float).to_list(), abs=1e-6
        )
    if example == "5.1":  # the book prints these two to ten digits
        first = found.random_se[0][[0, len(animals)]]
        assert first == pytest.approx([4.313320612, 5.991809902], abs=1e-8)


def test_sparse_solution_is_the_same() -> None:
    """Without standard errors, the sparse solution is the dense one."""
    dense, quick = animal_model("3.1", 20.0, 40.0), animal_model("3.1", 20.0, 40.0, standard_errors=False)
    assert quick.random[0] == pytest.approx(dense.random[0], abs=1e-12)
    assert quick.reliability == ()


def test_confounded_effects_are_refused() -> None:
    """Two fixed effects that say the same are refused with a remedy, however the equations are solved."""
    part = RandomPart(sparse.csr_array(np.eye(4)[:, :2]), np.eye(2), 1.0)
    for way in (True, False):
        with pytest.raises(CannotFitError, match="singular"):
            mixed_model_equations(np.arange(4.0), np.ones((4, 2)), [part], 1.0, standard_errors=way)


def test_lengths_must_agree() -> None:
    """As many rows as records are needed."""
    part = RandomPart(np.eye(3), np.eye(3), 1.0)
    with pytest.raises(CannotFitError, match="4 records but 3 rows"):
        mixed_model_equations(np.arange(4.0), np.ones((3, 1)), [part], 1.0)

"""Genetic prediction against a textbook's worked examples and against dense algebra."""

from pathlib import Path
from typing import Any

import numpy as np
import polars as pl
import pytest

from pedigree_worlds import generations_graph, random_graph
from upsides.errors import CannotPredictError
from upsides.pedigree import Graph, graph_of, inbreeding, tabular
from upsides.pedigree.prediction import Model, Prediction, Variances, predict, prediction_errors

DATA = Path(__file__).parents[1] / "ratings" / "data"
TWO = Variances(np.array([[20.0, 18.0], [18.0, 40.0]]), np.array([[40.0, 11.0], [11.0, 30.0]]))
WAYS = [{}, {"factored_below": 0, "operations": 0}]
TRAITS = ["WWG_kg", "PWG_kg"]


def table(name: str, example: str) -> pl.DataFrame:
    return pl.read_csv(DATA / name, comment_prefix="#", infer_schema=False).filter(pl.col("example") == example)


def pedigree(example: str) -> tuple[Graph, dict[str, int]]:
    rows = table("mrode_pedigree.csv", example)
    at = {"0": -1} | {animal: i for i, animal in enumerate(rows["animal"])}
    sire, dam = (np.array([at[x] for x in rows[side]]) for side in ("sire", "dam"))
    graph, order = graph_of(sire, dam)
    return graph, {rows["animal"][int(row)]: place for place, row in enumerate(order)}


def one_trait(example: str, variances: Variances) -> tuple[Model, dict[str, int]]:
    graph, at = pedigree(example)
    rows = table("mrode_records.csv", example)
    animal = np.array([at[x] for x in rows["animal"]])
    fixed = rows["level1"].to_numpy()[:, None] == np.array(["male", "female"])
    return Model(graph, animal, rows["value"].cast(pl.Float64).to_numpy(), fixed.astype(float), variances), at


def two_traits(example: str) -> tuple[Model, dict[str, int]]:
    graph, at = pedigree(example)
    rows = table("mrode_records.csv", example)
    wide = rows.pivot("trait", index=["animal", "level1"], values="value").with_columns(pl.col(TRAITS).cast(pl.Float64))
    fixed = wide["level1"].to_numpy()[:, None] == np.array(["male", "female"])
    animal = np.array([at[x] for x in wide["animal"]])
    return Model(graph, animal, wide.select(TRAITS).to_numpy(), fixed.astype(float), TWO), at


def compare(example: str, effect: str, trait: str, found: dict[str, float]) -> None:
    """Hold values by level to those printed (three decimals) and to those recomputed (six)."""
    wanted = (pl.col("effect") == effect) & (pl.col("trait") == trait)
    rows = table("mrode_solutions.csv", example).filter(wanted)
    assert rows.height
    for row in rows.iter_rows(named=True):
        assert found[row["level"]] == pytest.approx(float(row["recomputed"]), abs=1e-6)
        if row["published"]:
            assert found[row["level"]] == pytest.approx(float(row["published"]), abs=5.1e-4)


@pytest.mark.parametrize("way", WAYS)
def test_animal_model(way: dict[str, int]) -> None:
    """Mrode (2014) example 3.1: sexes and animals as printed, factored and iterated alike."""
    model, at = one_trait("3.1", Variances(20.0, 40.0))
    found = predict(model, **way)
    compare("3.1", "sex", "WWG_kg", dict(zip(("male", "female"), found.fixed[:, 0], strict=True)))
    compare("3.1", "animal", "WWG_kg", {name: found.value[place, 0] for name, place in at.items()})


def test_reliabilities_of_the_animal_model() -> None:
    """Example 3.1: diagonal .471 and reliability .058 for animal 1; all as recomputed from the printed equations."""
    model, at = one_trait("3.1", Variances(20.0, 40.0))
    found = predict(model)
    rows = table("mrode_solutions.csv", "3.1").filter(pl.col("effect") == "animal")
    for name, diagonal, relied in rows.select("level", "inverse_diagonal", "reliability").iter_rows():
        assert found.errors[at[name], 0, 0] / 40 == pytest.approx(float(diagonal), abs=1e-6)
        assert found.reliability[at[name], 0] == pytest.approx(float(relied), abs=5.1e-5)
    sexes = table("mrode_solutions.csv", "3.1").filter(pl.col("effect") == "sex")["inverse_diagonal"]
    assert found.fixed_se[:, 0] ** 2 / 40 == pytest.approx(sexes.cast(pl.Float64).to_list(), abs=1e-6)
    assert found.how == "exact"


@pytest.mark.parametrize("way", WAYS)
def test_sire_model(way: dict[str, int]) -> None:
    """Example 3.2: sires alone, sire 4 a son of sire 1, records of their calves."""
    model, at = one_trait("3.2", Variances(5.0, 55.0))
    found = predict(model, **way)
    compare("3.2", "sex", "WWG_kg", dict(zip(("male", "female"), found.fixed[:, 0], strict=True)))
    compare("3.2", "sire", "WWG_kg", {name: found.value[place, 0] for name, place in at.items()})


@pytest.mark.parametrize("way", WAYS)
def test_repeated_records(way: dict[str, int]) -> None:
    """Example 4.1: five cows with two records each, permanent effects, herd-seasons 1 and 3 set to nought."""
    graph, at = pedigree("4.1")
    rows = table("mrode_records.csv", "4.1")
    effects = [("level1", "1"), ("level1", "2"), ("level2", "2"), ("level2", "4")]
    fixed = np.column_stack([(rows[column] == level).to_numpy() for column, level in effects]).astype(float)
    animal = np.array([at[x] for x in rows["animal"]])
    y = rows["value"].cast(pl.Float64).to_numpy()
    found = predict(Model(graph, animal, y, fixed, Variances(20.0, 28.0, 12.0)), **way)
    trait = rows["trait"][0]
    compare("4.1", "parity", trait, {"1": found.fixed[0, 0], "2": found.fixed[1, 0]})
    compare("4.1", "HYS", trait, {"2": found.fixed[2, 0], "4": found.fixed[3, 0]})
    compare("4.1", "animal", trait, {name: found.value[place, 0] for name, place in at.items()})
    held = {int(place): value for place, value in zip(found.recorded, found.permanent[:, 0], strict=True)}
    compare("4.1", "permanent_environment", trait, {name: held.get(place, 0.0) for name, place in at.items()})


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("example", ["5.1", "5.2"])
def test_two_traits(example: str, way: dict[str, int]) -> None:
    """Examples 5.1 and 5.2: two correlated traits, complete and with records missing."""
    model, at = two_traits(example)
    found = predict(model, **way)
    for t, trait in enumerate(TRAITS):
        compare(example, "sex", trait, dict(zip(("male", "female"), found.fixed[:, t], strict=True)))
        compare(example, "animal", trait, {name: found.value[place, t] for name, place in at.items()})


def test_errors_of_two_traits() -> None:
    """Example 5.1 prints the standard errors of animal 1: 4.313320612 and 5.991809902."""
    model, at = two_traits("5.1")
    printed = [4.313320612, 5.991809902]
    assert np.sqrt(np.diag(predict(model).errors[at["1"]])) == pytest.approx(printed, abs=5e-9)
    for factored_below in (0, 1000):
        errors = prediction_errors(model, np.array([at["1"]]), factored_below=factored_below)
        assert np.sqrt(np.diag(errors[0])) == pytest.approx(printed, abs=1e-6)


def invented(seed: int, animals: int = 300) -> Model:
    """Return records of a random inbred pedigree: two traits, some missing, repeated, five groups, a covariate."""
    rng = np.random.default_rng(seed)
    graph = random_graph(rng, animals, recent=60)
    animal = rng.choice(graph.size, 400)
    fixed = np.eye(5)[rng.integers(5, size=400)]
    fixed = np.column_stack([fixed, rng.normal(size=400)])
    y = rng.normal(0, 8, (400, 2))
    y[rng.random((400, 2)) < 0.3] = np.nan
    permanent = np.array([[10.0, 2.0], [2.0, 15.0]])
    applies = np.ones((6, 2), dtype=np.bool_)
    applies[5, 1] = False
    return Model(graph, animal, y, fixed, Variances(TWO.genetic, TWO.residual, permanent), applies)


def dense(model: Model) -> dict[str, Any]:
    """Predict by the covariance of the records, `V = Z G Z' + P + R`, never by Henderson's equations."""
    n, t = model.graph.size, 2
    g, r, p = model.variances.genetic, model.variances.residual, model.variances.permanent
    assert p is not None
    seen = ~np.isnan(model.y).ravel()
    Z = np.kron(np.eye(n)[model.animal], np.eye(t))[seen]
    X = np.kron(model.fixed.toarray(), np.eye(t))[seen]
    assert model.applies is not None
    X = X[:, model.applies.ravel()]
    G = np.kron(tabular(model.graph), g)
    V = Z @ (G + np.kron(np.eye(n), p)) @ Z.T + np.kron(np.eye(len(model.animal)), r)[np.ix_(seen, seen)]
    W = np.linalg.inv(V)
    spread = np.linalg.inv(X.T @ W @ X)
    b = spread @ X.T @ W @ model.y.ravel()[seen]
    C = G @ Z.T
    u = C @ W @ (model.y.ravel()[seen] - X @ b)
    M = W - W @ X @ spread @ X.T @ W
    errors = G - C @ M @ C.T
    return {"b": b, "u": u.reshape(n, t), "errors": errors.reshape(n, t, n, t)[np.arange(n), :, np.arange(n)]}


@pytest.mark.parametrize("seed", range(3))
def test_agrees_with_generalised_least_squares(seed: int) -> None:
    """Values, fixed effects and error variances equal those from the covariance matrix of the records itself."""
    model = invented(seed)
    assert model.applies is not None
    wanted, found = dense(model), predict(model)
    assert found.fixed[model.applies] == pytest.approx(wanted["b"], abs=1e-8)
    assert found.fixed[5, 1] == 0.0
    assert found.value == pytest.approx(wanted["u"], abs=1e-8)
    assert found.errors == pytest.approx(wanted["errors"], abs=1e-8)
    reliability = 1 - np.einsum("nii->ni", wanted["errors"]) / ((1 + inbreeding(model.graph))[:, None] * [20.0, 40.0])
    assert found.reliability == pytest.approx(reliability, abs=1e-10)


def test_iteration_agrees_with_the_factor() -> None:
    """Conjugate gradients find the same values to 1e-6, and the same error variances of single animals."""
    model = invented(7)
    factored, iterated = predict(model), predict(model, factored_below=0, operations=0)
    assert iterated.steps > 0
    assert iterated.value == pytest.approx(factored.value, abs=1e-6)
    assert iterated.permanent == pytest.approx(factored.permanent, abs=1e-6)
    some = np.arange(0, 300, 17)
    for factored_below in (0, 10_000):
        errors = prediction_errors(model, some, factored_below=factored_below)
        assert errors == pytest.approx(factored.errors[some], abs=1e-5)


def test_sires_with_many_daughters() -> None:
    """Ten half-sib offspring at heritability 0.61 tell .643 of their sire, at 0.15 .280 (n / (n + (4 - h2) / h2)),
    by the inverse and, where no loops are in the way, by handing information along as well.
    """
    sire = np.array([-1, *[0] * 10], dtype=np.int32)
    graph, animal = Graph(sire, np.full(11, -1, dtype=np.int32)), np.arange(1, 11)
    for h2, told in ((0.61, 0.643), (0.15, 0.280)):
        model = Model(graph, animal, np.zeros(10), np.zeros((10, 0)), Variances(h2, 1 - h2))
        for way in ({}, {"operations": 0}):
            found: Prediction = predict(model, **way)
            assert found.reliability[0, 0] == pytest.approx(told, abs=5.1e-4)


def test_approximate_reliabilities_on_a_tree() -> None:
    """Where no two relatives meet twice, information handed along gives the inverse's own errors, of two traits."""
    sire = np.array([-1, -1, 0, 0, 2, 2, 4], dtype=np.int32)
    dam = np.array([-1, -1, -1, 1, -1, -1, -1], dtype=np.int32)
    y = np.array([[1.0, 2.0], [np.nan, 1.0], [3.0, np.nan], [1.0, 1.0]])
    model = Model(Graph(sire, dam), np.array([3, 4, 5, 6]), y, np.zeros((4, 0)), TWO)
    exact, handed = predict(model), predict(model, operations=0)
    assert (exact.how, handed.how) == ("exact", "approximate")
    assert handed.errors == pytest.approx(exact.errors, abs=1e-5)


def test_approximate_reliabilities_of_a_population() -> None:
    """Among four generations bred as horses are, with repeated records of two traits, they lie within 0.06 of the
    exact ones, 0.02 on average, and rank animals alike.
    """
    rng = np.random.default_rng(2)
    graph = generations_graph(rng, 4, 250, 8, 80)
    animal = np.repeat(rng.permutation(graph.size)[:500], 2)
    y = rng.normal(0, 8, (1000, 2))
    y[rng.random(y.shape) < 0.3] = np.nan
    fixed = np.eye(20)[rng.integers(20, size=1000)]
    permanent = np.array([[10.0, 2.0], [2.0, 15.0]])
    model = Model(graph, animal, y, fixed, Variances(TWO.genetic, TWO.residual, permanent))
    exact, handed = predict(model), predict(model, operations=0)
    apart = handed.reliability - exact.reliability
    assert (exact.how, handed.how) == ("exact", "approximate")
    assert np.abs(apart).max() < 0.06
    assert np.abs(apart).mean() < 0.02
    assert np.corrcoef(handed.reliability.ravel(), exact.reliability.ravel())[0, 1] > 0.99


def test_what_cannot_be_predicted_is_refused() -> None:
    """Effects that say the same, variances that are none, records of nobody and infinite values are refused."""
    graph, one = Graph(np.array([-1], dtype=np.int32), np.array([-1], dtype=np.int32)), np.array([0, 0])
    good = Variances(1.0, 1.0)
    with pytest.raises(CannotPredictError, match="drop one level"):
        predict(Model(graph, one, np.ones(2), np.ones((2, 2)), good))
    with pytest.raises(CannotPredictError, match="no covariance matrix"):
        Variances(np.array([[1.0, 2.0], [2.0, 1.0]]), np.eye(2))
    with pytest.raises(CannotPredictError, match="as many traits"):
        Variances(np.eye(2), 1.0)
    for animal, y, fixed, words in (
        (one + 1, np.ones(2), np.ones((2, 1)), "no animal"),
        (one, np.array([1.0, np.inf]), np.ones((2, 1)), "infinite"),
        (one, np.full(2, np.nan), np.ones((2, 1)), "nothing was recorded"),
        (one, np.ones(3), np.ones((2, 1)), "one row a record"),
    ):
        with pytest.raises(CannotPredictError, match=words):
            Model(graph, animal, y, fixed, good)

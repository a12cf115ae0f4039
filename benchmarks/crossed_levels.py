"""Race and horse levels of 59,505 real runs: our exact fit against lme4 in R, in the same run.

The figure is, for this check only, weight carried less 15 lb a length over furlongs of 201.168 m, with
lengths not recorded (999) taken as 20 and all capped at 20. Both programs get the same numbers from the same
file.
"""

import json
import multiprocessing
import os
import resource
import shutil
import statistics
import subprocess
import tempfile
import time
from pathlib import Path
from typing import Any

import numpy as np
import polars as pl
from numpy.typing import NDArray

from benchmarks._compiling import compile_seconds
from upsides.ratings.crossed import CrossedFit, fit_crossed

Floats = NDArray[np.float64]
Codes = NDArray[np.int64]
PUBLISHED = (5.821, 8.707, 9.421)
REPEATS = 3
PROGRAM = """
suppressMessages(library(lme4))
runs <- read.csv(commandArgs(TRUE)[1])
took <- system.time(fit <- lmer(y ~ 1 + (1 | horse) + (1 | race), runs))[["elapsed"]]
sds <- as.data.frame(VarCorr(fit))
sd <- function(name) sds$sdcor[sds$grp == name]
peak <- grep("VmHWM", readLines("/proc/self/status"), value = TRUE)
megabytes <- as.numeric(gsub("[^0-9]", "", peak)) / 1024
cat(sprintf('{"seconds": %.3f, "megabytes": %.0f, "deviance": %.8f, "sds": [%.9f, %.9f, %.9f]}',
            took, megabytes, REMLcrit(fit),
            sd("race"), sd("horse"), sd("Residual")))
"""


def run() -> None:
    """Fit both and print times, memory, standard deviations, deviances and the ratio."""
    folder = Path(os.environ.get("UPSIDES_SHARED", "../shared/data")) / "results"
    if not (folder / "hk1997_runs.csv.gz").exists():
        print(f"skipped: no hk1997 tables in {folder.resolve()}; set UPSIDES_SHARED to the shared data's folder")
        return
    runs = table(folder)
    print(f"{runs.height} runs, {runs['race'].n_unique()} races, {runs['horse'].n_unique()} horses")
    compiling = compile_seconds("upsides.ratings.crossed.kernels")
    print(f"compiling our kernels, once for each machine: {compiling:.1f} s")
    ours = {threads: in_process(runs, threads) for threads in (1, 2)}
    for threads, (seconds, _, peak) in ours.items():
        each = ", ".join(f"{s:.2f}" for s in seconds)
        print(f"ours  {statistics.median(seconds):8.2f} s with BLAS threads: {threads} (median of {each}), ", end="")
        print(f"peak of its process {peak:.0f} MB")
    seconds, fit, _ = min(ours.values(), key=lambda measured: statistics.median(measured[0]))
    show("ours", (fit.sd_race, fit.sd_horse, fit.sd_residual), fit.deviance)
    print(f"      converged {fit.converged}, exact {fit.exact}; the likelihood evaluated {fit.iterations} times")
    compare(fit, statistics.median(seconds), reference(runs))


def compare(fit: CrossedFit, seconds: float, other: dict[str, Any] | None) -> None:
    """Print lme4's numbers, the differences and the ratio; or say why there are none."""
    if other is None:
        return
    seen = f"{other['seconds']:8.2f} s (the call of lmer alone), peak of its process {other['megabytes']:.0f} MB"
    print(f"lme4  {seen}")
    show("lme4", tuple(other["sds"]), other["deviance"])
    ours = np.array([fit.sd_race, fit.sd_horse, fit.sd_residual])
    print(
        f"largest difference of a standard deviation: from lme4 {np.abs(ours - other['sds']).max():.1e}, ",
        end="",
    )
    print(f"from {PUBLISHED} {np.abs(ours - PUBLISHED).max():.1e}")
    print(f"deviance, ours less lme4's: {fit.deviance - other['deviance']:+.1e}")
    print(f"ratio: {other['seconds'] / seconds:.1f} times as fast as lme4 (at least 15 wanted, 30 aimed for)")


def table(folder: Path) -> pl.DataFrame:
    """Return columns y, race and horse of the real runs."""
    runs = pl.read_csv(
        folder / "hk1997_runs.csv.gz", columns=["race_id", "horse_id", "lengths_behind", "actual_weight"]
    )
    races = pl.read_csv(folder / "hk1997_races.csv.gz", columns=["race_id", "distance"])
    lengths = pl.col("lengths_behind").clip(upper_bound=20.0)  # 999, not recorded, becomes 20 too
    y = pl.col("actual_weight") - lengths * 15 / (pl.col("distance") / 201.168)
    return runs.join(races, on="race_id", maintain_order="left").select(y=y, race="race_id", horse="horse_id")


def in_process(runs: pl.DataFrame, threads: int) -> tuple[list[float], CrossedFit, float]:
    """Return the seconds of each fit, the fit and the peak in MB of a process with so many BLAS threads."""
    os.environ["OPENBLAS_NUM_THREADS"] = str(threads)  # read when the new process imports NumPy and SciPy
    columns = [column.to_numpy() for column in runs]
    with multiprocessing.get_context("spawn").Pool(1) as pool:
        return pool.apply(timed_fits, columns)


def timed_fits(y: Floats, race: Codes, horse: Codes) -> tuple[list[float], CrossedFit, float]:
    """Fit over and over, the clock running only while it fits."""
    seconds = []
    for _ in range(REPEATS):
        began = time.perf_counter()
        fit = fit_crossed(y, race, horse)
        seconds.append(time.perf_counter() - began)
    return seconds, fit, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def reference(runs: pl.DataFrame) -> dict[str, Any] | None:
    """Return what lme4 makes of the same runs, or None after saying why it cannot be asked."""
    if shutil.which("Rscript") is None:
        print("lme4: skipped, R is not here; on Debian: apt-get install r-cran-lme4")
        return None
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "runs.csv"
        runs.write_csv(path)
        done = subprocess.run(["Rscript", "-e", PROGRAM, str(path)], capture_output=True, text=True, check=False)
    if done.returncode:
        print(f"lme4: skipped, R said: {done.stderr.strip()[-200:]}; on Debian: apt-get install r-cran-lme4")
        return None
    answer: dict[str, Any] = json.loads(done.stdout)
    return answer


def show(name: str, sds: tuple[float, ...], deviance: float) -> None:
    """Print standard deviations and deviance."""
    race, horse, residual = sds
    print(f"{name:5} sd race {race:.6f}, horse {horse:.6f}, residual {residual:.6f}; deviance {deviance:.6f}")

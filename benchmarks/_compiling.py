"""What compiling costs: the same import into an empty cache and out of a full one."""

import os
import subprocess
import sys
import tempfile


def compile_seconds(module: str) -> float:
    """Return how much longer a module's kernels take to import into an empty cache than out of a full one."""
    program = f"import time, numba; t = time.time(); import {module}; print(time.time() - t)"
    with tempfile.TemporaryDirectory() as cache:
        environment = {**os.environ, "NUMBA_CACHE_DIR": cache}
        command = [sys.executable, "-c", program]
        first, second = (
            float(subprocess.run(command, env=environment, capture_output=True, text=True, check=True).stdout)
            for _ in range(2)
        )
    return first - second

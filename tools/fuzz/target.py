"""The process that is fuzzed: a reader, instrumented, fed with bytes until the time is over or it breaks.

    python -m tools.fuzz.target READER [options of libFuzzer] CORPUS

`python -m tools.fuzz` starts it; this ends with libFuzzer's own status.
"""

import sys
import warnings

import atheris

with atheris.instrument_imports(include=["upsides.recordings"]):
    from tools.fuzz.readers import READERS, reader, try_reader
    from tools.fuzz.seeds import seeds

    READ = reader(sys.argv[1]) if len(sys.argv) > 1 and sys.argv[1] in READERS else None


def once(data: bytes) -> None:
    """Read bytes once."""
    if READ is not None:
        try_reader(READ, data)


if __name__ == "__main__":
    warnings.simplefilter("error")
    for seed in seeds(sys.argv[1]) if READ is not None else ():
        once(seed)  # what a reader loads is loaded now, so that no input is called slow for it
    atheris.Setup([sys.argv[0], *sys.argv[2:]], once)
    atheris.Fuzz()

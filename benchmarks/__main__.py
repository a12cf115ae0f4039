"""Run the benchmarks: `python -m benchmarks`, or `python -m benchmarks NAME...` for those so begun."""

import importlib
import pkgutil
import sys

import benchmarks


def main(wanted: list[str]) -> int:
    """Run each benchmark whose name starts with one of `wanted` (all when empty); return the exit status."""
    names = sorted(module.name for module in pkgutil.iter_modules(benchmarks.__path__) if module.name[0] != "_")
    chosen = [name for name in names if not wanted or any(name.startswith(word) for word in wanted)]
    if not chosen:
        print(f"no benchmark is called {' or '.join(wanted)}; there are: {', '.join(names)}")
        return 2
    for name in chosen:
        print(f"== {name}", flush=True)
        importlib.import_module(f"benchmarks.{name}").run()
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

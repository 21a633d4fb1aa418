"""`python -m tests.mutation [MODULE...] [--sample N] [--seed S]`: which mistakes in the core no test would notice."""

from __future__ import annotations

import argparse
import random
import sys
from pathlib import Path

import yaml

from tests.mutation.mutants import Mutant, mutants
from tests.mutation.nearest import MADE_ANEW, NEAREST
from tests.mutation.running import ROOT, Runner

EQUIVALENT = Path(__file__).with_name("equivalent.yaml")


def main(words: list[str]) -> int:
    """Print survivors and the share killed; 1 where a module's tests fail without any mutant, 2 for an unknown module."""
    asked = _asked(words)
    unknown = [name for name in asked.modules if name not in NEAREST]
    if unknown:
        print(
            f"error: no tests are named for {', '.join(unknown)}\n  add it to tests/mutation/nearest.py",
            file=sys.stderr,
        )
        return 2
    runner, same = Runner(), _equivalent()
    killed = made = 0
    for module in asked.modules or NEAREST:
        chosen = _sample(module, same, asked)
        survived: list[Mutant] = []

        def tell(mutant: Mutant, survives: bool, found: list[Mutant] = survived) -> None:
            if survives:
                found.append(mutant)
                print(f"{mutant.path.relative_to(ROOT)}:{mutant.line}: {mutant.change}", flush=True)

        runner.warm(NEAREST[module], fresh=module in MADE_ANEW)
        if not runner.run(module, NEAREST[module], chosen, tell):
            print(
                f"error: the tests of {module} fail as it is, or a run went wrong\n  mend them first",
                file=sys.stderr,
            )
            return 1
        dead = len(chosen) - len(survived)
        print(f"{module}: {_share(dead, len(chosen))}", flush=True)
        killed, made = killed + dead, made + len(chosen)
    print(f"all: {_share(killed, made)}")
    return 0


def _asked(words: list[str]) -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.mutation", description=__doc__)
    parser.add_argument(
        "modules", nargs="*", metavar="MODULE", help="as tracer.report.verdict; without: the whole core"
    )
    parser.add_argument("--sample", type=int, metavar="N", help="only so many mutants of each module")
    parser.add_argument("--seed", type=int, default=1, metavar="S", help="which of them")
    return parser.parse_args(words)


def _sample(module: str, same: set[tuple[str, str, str]], asked: argparse.Namespace) -> list[Mutant]:
    path = ROOT.joinpath(*module.split(".")).with_suffix(".py")
    found = [one for one in mutants(path) if (module, one.function, one.change) not in same]
    if asked.sample is None or asked.sample >= len(found):
        return found
    chosen = random.Random(f"{asked.seed} {module}").sample(range(len(found)), asked.sample)
    return [found[place] for place in sorted(chosen)]


def _equivalent() -> set[tuple[str, str, str]]:
    listed = yaml.safe_load(EQUIVALENT.read_text(encoding="utf-8")) or []
    return {(one["module"], one["function"], one["change"]) for one in listed}


def _share(killed: int, made: int) -> str:
    return f"{killed} of {made} killed, {100 * killed / made:.0f} %" if made else "no mutants"


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

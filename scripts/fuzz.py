"""Look for texts that lead a reader where no text has led it yet, and hold it to what must hold there.

    python scripts/fuzz.py --count 1000000 --seed 17
    python scripts/fuzz.py --reader alignments --count 20000 --corpus folder     # what led further stays there
    python scripts/fuzz.py --reader number --again crash-4711                    # one text again

Atheris (libFuzzer for Python, with wheels for each Python that is supported) changes texts, sees which branches of the
readers each takes, and goes on from those that took new ones. What must hold stands in tests/held.py. Prints how many
texts each reader was given; the first that breaks a rule ends the run, and is kept. Needs the extra `fuzz`.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]
SEEDS = (
    "12+34.56", "1+234.567 AH EQ 2", "STA 28+44.31 RT 3.0", "11 1/4", "1,250.75 ft", '12"', "DN 300", "68 F", "20 C",
    "March 4, 2026", "03/04/2026 10:15 AM", "2026-03-04", "22.5 deg horizontal bend", "50us-ft", "1e3 N-m",
)  # fmt: skip
FILES = 0.02
"""Share of the count that goes to readers of whole files, which take a hundred times as long."""


def _readers() -> dict[str, float]:
    from held import OF_FILES, OF_TEXTS

    return {name: FILES / len(OF_FILES) for name in OF_FILES} | {name: (1 - FILES) / len(OF_TEXTS) for name in OF_TEXTS}


def _seeds(reader: str, folder: Path) -> None:
    sample = ROOT / "sample_gis"
    of_files = {"alignments": [sample / "alignment_foundry.xml"], "job": sorted(sample.glob("job*.toml"))}
    texts = [one.read_text("utf-8") for one in of_files[reader]] if reader in of_files else SEEDS
    for at, text in enumerate(texts):
        (folder / f"seed{at}").write_text(text, "utf-8")


def _fuzz(reader: str, again: Path | None, flags: list[str]) -> None:
    """Run one reader in this process until its count is reached, or a rule is broken."""
    import atheris

    with atheris.instrument_imports(include=["asbuilt"]):
        import held

    rule = {**held.OF_TEXTS, **held.OF_FILES}[reader]
    folder = Path(tempfile.mkdtemp(prefix="asbuilt-fuzz-"))

    def one(data: bytes) -> None:
        rule(data.decode("utf-8", "replace"), folder)

    if again is not None:
        one(again.read_bytes())
        return
    atheris.Setup([sys.argv[0], *flags], one)
    atheris.Fuzz()


def main() -> int:
    """Run each reader in a process of its own; the exit status is 1 where a rule was broken."""
    options = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    options.add_argument("--count", type=int, default=100_000, help="texts for all readers together")
    options.add_argument("--seed", type=int, default=17)
    options.add_argument("--reader", choices=list(_readers()), help="this one alone, with the whole count")
    options.add_argument("--corpus", type=Path, help="folder in which texts that led further stay")
    options.add_argument("--again", type=Path, help="file of one text to be read again")
    options.add_argument("--flags", nargs="*", help=argparse.SUPPRESS)
    asked = options.parse_args()
    if asked.flags is not None or asked.again is not None:
        _fuzz(asked.reader, asked.again, [f"-{one}" for one in asked.flags or ()] + [str(asked.corpus)])
        return 0
    shares = {asked.reader: 1.0} if asked.reader else _readers()
    broken, texts, started = [], 0, time.monotonic()
    for reader, share in shares.items():
        corpus = asked.corpus or Path(tempfile.mkdtemp(prefix="asbuilt-corpus-"))
        known = corpus / reader.replace(" ", "-")
        known.mkdir(parents=True, exist_ok=True)
        _seeds(reader, known)
        longest = 20_000 if share <= FILES or reader in ("alignments", "job") else 120
        count = max(1, round(asked.count * share))
        flags = [f"runs={count}", f"seed={asked.seed}", f"max_len={longest}", "timeout=60", "rss_limit_mb=4096",
                 "print_final_stats=0", f"artifact_prefix={corpus}/broken-"]  # fmt: skip
        command = [sys.executable, __file__, "--reader", reader, "--corpus", str(known), "--flags", *flags]
        run = subprocess.run(command, capture_output=True, text=True, check=False)
        texts += count if run.returncode == 0 else 0
        print(
            f"{reader}: {count:,} texts, seed {asked.seed}: {'held' if run.returncode == 0 else 'BROKEN'}", flush=True
        )
        if run.returncode:
            broken.append(reader)
            print(run.stderr[-3000:], flush=True)
    print(f"{texts:,} texts in {time.monotonic() - started:.0f} s; broken: {', '.join(broken) or 'none'}")
    return 1 if broken else 0


if __name__ == "__main__":
    sys.exit(main())

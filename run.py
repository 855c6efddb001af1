"""Set up this folder and start: needs nothing but Python 3.11 or newer with pip.

python3 run.py demo          the dashboard on the simulated bench   (Windows: py run.py demo)
python3 run.py test          lint, types, import contracts, tests, coverage
python3 run.py WORDS...      any spinledger command, e.g. python3 run.py calc --help
"""

import hashlib
import os
import pathlib
import shutil
import subprocess
import sys

HERE = pathlib.Path(__file__).resolve().parent
ENVIRONMENT = HERE / ".venv"
NEEDED = (3, 11)
LOCKS = {"run": HERE / "constraints.txt", "test": HERE / ".ci" / "constraints-test.txt"}


def interpreter() -> pathlib.Path:
    """Return the environment's own Python."""
    return ENVIRONMENT / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def stamp_of(lock: pathlib.Path) -> str:
    """Return what an environment made from this lock is stamped with."""
    text = lock.read_bytes() + (HERE / "pyproject.toml").read_bytes() + sys.version.encode()
    return hashlib.sha256(text).hexdigest()


def call(*words: str) -> None:
    """Run a step; when it fails, leave with its exit code."""
    done = subprocess.run(words, cwd=HERE, check=False)
    if done.returncode:
        print(f"run.py: this step failed: {' '.join(words)}", file=sys.stderr)
        sys.exit(done.returncode)


def make_environment() -> None:
    """Make .venv, also where Python comes without ensurepip."""
    print("run.py: making .venv", file=sys.stderr)
    made = subprocess.run([sys.executable, "-m", "venv", str(ENVIRONMENT)], capture_output=True, check=False)
    if made.returncode == 0:
        return
    shutil.rmtree(ENVIRONMENT, ignore_errors=True)
    call(sys.executable, "-m", "venv", "--without-pip", str(ENVIRONMENT))


def pip(*words: str) -> None:
    """Run pip for the environment: its own, or the one of this Python."""
    quiet = ["--quiet", "--disable-pip-version-check", "--no-input"]
    own = subprocess.run([str(interpreter()), "-m", "pip", "--version"], capture_output=True, check=False)
    if own.returncode == 0:
        call(str(interpreter()), "-m", "pip", *words, *quiet)
    else:
        call(sys.executable, "-m", "pip", "--python", str(interpreter()), *words, *quiet)


def ready(purpose: str) -> None:
    """Make the environment as the lock wants it, once."""
    stamps = {name: ENVIRONMENT / f"made-for-{name}" for name in LOCKS}
    wanted = stamp_of(LOCKS[purpose])
    for name, stamp in stamps.items():
        # an environment for the tests holds everything that the program needs too
        if name in {purpose, "test"} and stamp.exists() and stamp.read_text() == stamp_of(LOCKS[name]):
            return
    if not interpreter().exists():
        make_environment()
    print("run.py: installing what the program needs (once)", file=sys.stderr)
    pip("install", "--require-hashes", "-r", str(LOCKS[purpose]))
    pip("install", "--no-deps", "--no-build-isolation", "-e", str(HERE))
    stamps[purpose].write_text(wanted)


def test(words: list[str]) -> int:
    """Run the gates one after the other; the first that fails ends it."""
    python = str(interpreter())
    gates = [
        [python, "-m", "ruff", "format", "--check", "."],
        [python, "-m", "ruff", "check", "."],
        [python, "-m", "mypy"],
        [python, "-m", "pyright"],
        [python, "-m", "pydoclint.main", "bench", "drivers", "sim"],
        [python, "-m", "deptry", "."],
        [python, "-c", "from importlinter.cli import lint_imports_command; lint_imports_command()"],
    ]
    for gate in [] if words else gates:
        print(f"run.py: {' '.join(gate[1:])[:90]}", file=sys.stderr, flush=True)
        call(*gate)
    if words:
        return subprocess.run([python, "-m", "pytest", *words], cwd=HERE, check=False).returncode
    call(python, "-m", "coverage", "erase")
    tests = [python, "-m", "pytest", "-n", "2", "--cov", "--cov-report="]
    done = subprocess.run(tests, cwd=HERE, check=False).returncode
    if done == 1:
        # tests over real links can be late on a busy machine: what failed is run once more, alone
        again = [python, "-m", "pytest", "--last-failed", "--cov", "--cov-append", "--cov-report="]
        done = subprocess.run(again, cwd=HERE, check=False).returncode
    if done:
        return done
    floors = (
        ("95", "bench/computation/*,bench/capture/*,bench/trail/*"),
        ("85", "bench/*,drivers/*,sim/*"),
    )
    for floor, paths in floors:
        call(python, "-m", "coverage", "report", f"--include={paths}", f"--fail-under={floor}")
    return 0


def main() -> int:
    """Do what the words say."""
    if sys.version_info < NEEDED:
        print(f"run.py: this is Python {sys.version.split()[0]}; wanted 3.11 or newer", file=sys.stderr)
        return 2
    words = sys.argv[1:]
    if not words or words[0] in {"-h", "--help"}:
        print(__doc__)
        return 0 if words else 2
    if words[0] == "test":
        ready("test")
        return test(words[1:])
    ready("run")
    command = [str(interpreter()), "-m", "bench.command_line.main", *words]
    if os.name == "nt":
        return subprocess.run(command, check=False).returncode
    os.execv(command[0], command)  # noqa: S606 our own interpreter, no shell
    return 0


if __name__ == "__main__":
    sys.exit(main())

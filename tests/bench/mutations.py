#!/usr/bin/env python3
"""Faults put into the code by hand, one at a time: does a test notice?

The list is mutations.txt. Every fault goes into a copy of the sources behind a switch (the environment variable FAULT),
so that each file is compiled once; then the test programs run once for each fault, with that fault alone switched on.
First without any: a test that fails then would catch everything.

    tests/bench/mutations.py check                     every old text still stands in the code, once
    tests/bench/mutations.py build FOLDER [TEST ...]   a copy of the tree with the faults, and these test programs (all); with
                                                       TEST_OBJECTS=FOLDER the tests compiled in that build of CI's are linked
    tests/bench/mutations.py run FOLDER [WORD]         runs it (faults whose file or text holds WORD); table on standard output,
                                                       one line a fault is kept in FOLDER/caught.txt as it is found
    tests/bench/mutations.py table FOLDER              the table of what was found so far
"""
import os
import pathlib
import shutil
import subprocess
import sys

HERE = pathlib.Path(__file__).resolve().parent
ROOT = HERE.parent.parent
SWITCH = """#include <cstdlib>
#ifndef FAULT_IS
#define FAULT_IS
inline bool fault_is(int n) {
  static const int on = std::getenv("FAULT") ? std::atoi(std::getenv("FAULT")) : 0;
  return on == n;
}
#endif
"""
# "interpret" leaves out the inference of original sizes ("interpret[original]"), and that one its statistics: minutes.
CHOSEN = {"interpret": "~[original]", "interpret[original]": "[original]~[study]"}
LONGEST_S = 1200  # a program that hangs by a fault is stopped, and the fault counts as noticed


class Fault:
    def __init__(self, number, head):
        self.number = number
        self.file, self.tests, self.what = [part.strip() for part in head.split("|")]
        self.tests = self.tests.split()
        self.within = self.old = self.new = ""

    def place(self, text):
        """Where the old text stands: (from, to). Raises where it does not stand exactly once."""
        if self.within:
            lines = [i for i in range(len(text)) if text.startswith(self.within, i)]
            if len(lines) != 1:
                raise ValueError(f"the line stands {len(lines)} times")
            start, end = text.rfind("\n", 0, lines[0]) + 1, text.find("\n", lines[0])
            end = text.find("\n", end + 1)  # the formatter may have broken it
        else:
            start, end = 0, len(text)
        if text.count(self.old, start, end) != 1:
            raise ValueError(f"the old text stands {text.count(self.old, start, end)} times")
        at = text.index(self.old, start, end)
        return at, at + len(self.old)

    def switched(self):
        new = "" if self.new == ";" else self.new
        if self.old.endswith(";"):
            return f"{{ if (fault_is({self.number})) {{ {new} }} else {{ {self.old} }} }}"
        if " = " in self.old:  # in a declaration
            (name, value), other = self.old.split(" = ", 1), self.new.split(" = ", 1)[1]
            return f"{name} = fault_is({self.number}) ? {other} : {value}"
        return f"(fault_is({self.number}) ? ({new}) : ({self.old}))"


def faults():
    found = []
    for line in (HERE / "mutations.txt").read_text().splitlines():
        if line.startswith("@ "):
            found.append(Fault(len(found) + 1, line[2:]))
        elif line.startswith("in: "):
            found[-1].within = line[4:]
        elif line.startswith("- "):
            found[-1].old = line[2:]
        elif line.startswith("+ "):
            found[-1].new = line[2:]
    return found


def source_of(fault, root=ROOT):
    files = list((root / "src").rglob(fault.file))
    if len(files) != 1:
        raise ValueError(f"{len(files)} files of that name")
    return files[0]


def check():
    """The faults that can be put in; the others are named."""
    good, bad = [], 0
    for fault in faults():
        try:
            fault.place(source_of(fault).read_text())
            good.append(fault)
        except ValueError as problem:
            bad += 1
            print(f"{fault.file}, {fault.what}: {problem}", file=sys.stderr)
    return good, bad


def build(folder, *only):
    good, _ = check()
    tree = folder / "tree"
    for part in ("src", "include", "tests", "images-demo", "calib"):
        shutil.rmtree(tree / part, ignore_errors=True)
    tree.mkdir(parents=True, exist_ok=True)
    for part in ("CMakeLists.txt", "CMakePresets.json", "README.md", "src", "include", "tests", "images-demo", "calib"):
        source = ROOT / part
        (shutil.copytree if source.is_dir() else shutil.copy)(source, tree / part if source.is_dir() else tree)
    per_file = {}
    for fault in good:
        per_file.setdefault(source_of(fault, tree), []).append(fault)
    for file, own in per_file.items():
        text = file.read_text()
        for fault in sorted(own, key=lambda f: f.place(text)[0], reverse=True):
            start, end = fault.place(file.read_text())
            text = text[:start] + fault.switched() + text[end:]
        file.write_text(SWITCH + text)
    programs = ["test_" + t for t in only] or sorted({"test_" + t.split("[")[0] for f in good for t in f.tests})
    programs.append("rondure")  # the tests of cli run it
    options = ["-DRONDURE_TESTS=ON", "-DRONDURE_UNITY=ON"]
    if shutil.which("ccache"):
        options.append("-DCMAKE_CXX_COMPILER_LAUNCHER=ccache")
    if objects := os.environ.get("TEST_OBJECTS"):
        options.append(f"-DRONDURE_TEST_OBJECTS={objects}")
    subprocess.run(["cmake", "--preset", "release", "-G", "Ninja", *options],
                   cwd=tree, check=True, stdout=subprocess.DEVNULL)
    subprocess.run(["ninja", "-C", str(tree / "build"), "-k", "0", *programs], check=True)


def passes(folder, test, number):
    name, _, tag = test.partition("[")
    program = folder / "tree" / "build" / "tests" / ("test_" + name)
    chosen = [CHOSEN[test]] if test in CHOSEN else ["[" + tag + "~[repeats]"] if tag else []
    env = dict(os.environ, FAULT=str(number))
    try:
        return subprocess.run([program, "-a", "-w", "NoTests", *chosen], env=env, timeout=LONGEST_S, stdout=subprocess.DEVNULL,
                              stderr=subprocess.DEVNULL).returncode == 0
    except subprocess.TimeoutExpired:
        return False


def run(folder, word=""):
    good, bad = check()
    kept = folder / "caught.txt"
    chosen = [f for f in good if word in f.file or word in f.what]
    built = folder / "tree" / "build" / "tests"
    for fault in chosen:  # by the test programs that were built
        fault.tests = [t for t in fault.tests if (built / ("test_" + t.split("[")[0])).exists()]
    chosen = [f for f in chosen if f.tests]
    for test in sorted({t for f in chosen for t in f.tests}):
        if not passes(folder, test, 0):
            sys.exit(f"{test} fails without any fault")
    with kept.open("a") as out:
        for fault in chosen:
            by = next((t for t in fault.tests if not passes(folder, t, fault.number)), "-")
            print(f"{fault.file}\t{fault.what}\t{by}", file=out, flush=True)
    table(folder)
    if bad:
        print(f"{bad} faults of the list no longer fit the code")


def table(folder):
    found = {}
    for line in (folder / "caught.txt").read_text().splitlines():
        file, what, by = line.split("\t")
        found[(file, what)] = by
    caught = sum(by != "-" for by in found.values())
    print(f"{caught} of {len(found)} faults noticed")
    for (file, what), by in found.items():
        print(f"{'SURVIVED' if by == '-' else by:<20}  {file:<24}  {what}")


if __name__ == "__main__":
    words = sys.argv[1:]
    if words[:1] == ["check"] and len(words) == 1:
        good, bad = check()
        print(f"{len(good)} faults fit the code, {bad} do not")
        sys.exit(bad > 0)
    elif len(words) >= 2 and words[0] in ("build", "run", "table"):
        {"build": build, "run": run, "table": table}[words[0]](pathlib.Path(words[1]).resolve(), *words[2:])
    else:
        sys.exit(__doc__)

#!/usr/bin/env python3
"""Trains the small model of `ingest/src/judge` and writes `ingest/lexicon/judge.bin`.

    train.py --stretches PROGRAM [--boats FOLDER]... [--leave-out BOAT]... [--sayings WEIGHT] [--out FILE] [--check]

PROGRAM is the built example `stretches` of leadsman-ingest, which turns sayings and notes into signs exactly as the
model will see them. The notes are those of the boats in `boats/`, which were written for this, and of further ones that
are given, with their gold; their stretches are labelled by the gold entry that they quote. The sayings are those of
`said/*.txt`, one a line, by what they say; a boat's talk holds far more that says nothing than they do, so all of them
together weigh no more than a thousand stretches. `--check` leaves each boat out in turn and prints how well the others'
model judges her. Needs scikit-learn; the same data give the same file.
"""
import argparse, json, random, struct, subprocess, sys
from pathlib import Path

import numpy as np
from scipy.sparse import csr_matrix
from sklearn.linear_model import LogisticRegression

HERE = Path(__file__).resolve().parent
NAMES = ["pass", "done", "fail", "partial", "unclear", "unproven", "task", "none"]
SIGNS = 1 << 15
SEED = 7
# What all sayings weigh together; a stretch of a note weighs 1.
SAYINGS = 1000.0
# The inverse of how much the weights are held down.
STRENGTH = 6.0


def folders(parts, more, left_out):
    """The folders of the boats that are learnt from: those of these parts of this folder, and further ones."""
    own = [p for part in parts for p in sorted((HERE / part).iterdir()) if p.is_dir()]
    return [p for p in own + more if p.name not in left_out]


def words(text):
    return "".join(c.lower() if c.isalnum() else " " for c in text).split()


def sayings():
    """The lines of `said/`, and lines joined as talk joins them: what else is said in one breath changes nothing."""
    rng = random.Random(SEED)
    said = {p.stem: [l for l in p.read_text().split("\n") if l.strip()] for p in sorted((HERE / "said").glob("*.txt"))}
    gear = [l for l in (HERE / "gear.txt").read_text().split("\n") if l.strip()]
    none = said["none"]
    for name in NAMES:
        for line in said[name]:
            yield 1.0, name, line
            stop = rng.choice([". ", ", ", " ", "; ", " - "])
            yield 0.4, name, rng.choice(gear) + stop + line
            other = rng.choice(none if name != "none" else none + said["task"][:0])
            yield 0.4, name, (other + stop + line if rng.random() < 0.6 else line + stop + other)
            if name != "none":
                yield 0.4, name, line + stop + rng.choice(said[name])
    # What was wrong and is put right; what passed and then failed; what was mended and not tried.
    turns = [("fail", "pass", "pass"), ("fail", "done", "done"), ("task", "done", "done"), ("done", "pass", "pass"),
             ("pass", "fail", "fail"), ("done", "fail", "fail"), ("done", "unproven", "unproven"),
             ("fail", "task", "fail"), ("unproven", "pass", "pass"), ("pass", "task", "pass")]
    for first, then, name in turns:
        for _ in range(60):
            stop = rng.choice([". ", " but ", ". Now ", " then "])
            yield 0.4, name, rng.choice(said[first]) + stop + rng.choice(said[then])


def of_sayings(program, weight=SAYINGS):
    """The sayings as rows; all of them together have this weight."""
    lines = "".join(f"{w}\t{n}\t{t}\n" for w, n, t in sayings())
    done = subprocess.run([program], input=lines, capture_output=True, text=True, check=True)
    rows = [json.loads(l) for l in done.stdout.splitlines()]
    whole = sum(float(r["weight"]) for r in rows)
    return [(float(r["weight"]) * weight / whole, r["name"], r["signs"], "") for r in rows]


def within(quote, stretch):
    """Share of a quote's words that stand in a stretch, in one run of it."""
    a, b = words(quote), words(stretch)
    if not a or not b:
        return 0.0
    text = " " + " ".join(b) + " "
    if " " + " ".join(a) + " " in text:
        return 1.0
    best = run = 0
    pairs = set(zip(b, b[1:]))
    for pair in zip(a, a[1:]):
        run = run + 1 if pair in pairs else 0
        best = max(best, run)
    return best / max(1, len(a) - 1) if len(a) > 3 else 0.0


def of_boat(program, folder):
    done = subprocess.run([program, folder], capture_output=True, text=True, check=True)
    rows = [json.loads(l) for l in done.stdout.splitlines()]
    final = json.loads((folder / "open.gold.json").read_text())
    out = []
    names = lambda gold, row: any(" ".join(words(g)) in " ".join(words(row["quote"] + " " + row["gear"])) for g in gold["gear"])
    by_note = {}
    for row in rows:
        by_note.setdefault(row["note"], []).append(row)
    for note, rows in by_note.items():
        path = next(p for p in folder.glob(note.rsplit(".", 1)[0] + ".gold.json"))
        gold = json.loads(path.read_text())
        for row in rows:
            row["label"], row["weight"] = "none", 1.0
        for entry in gold["items"]:
            name = {"task": "task", "unproven": "unproven", "failed_trial": "fail", "inconclusive_trial": "unclear"}.get(entry["why"])
            best = max(rows, key=lambda r: within(entry["quote"], r["quote"]))
            if name and within(entry["quote"], best["quote"]) > 0.5:
                best["label"], best["weight"] = name, 0.5 if entry.get("soft") else 1.0
        for entry in gold["trials"]:
            best = max(rows, key=lambda r: within(entry["quote"], r["quote"]) + 0.1 * names(entry, r))
            if within(entry["quote"], best["quote"]) > 0.5:
                best["label"], best["weight"] = entry["outcome"], 0.5 if entry.get("soft") else 1.0
        number = note[:2]
        for entry in final["closed"]:
            if entry["closed_in"] != number or "closed_by" not in entry:
                continue
            best = max(rows, key=lambda r: within(entry["closed_by"], r["quote"]) + 0.1 * names(entry, r))
            if best["label"] == "none" and within(entry["closed_by"], best["quote"]) > 0.5:
                best["label"] = "done"
        out += [(r["weight"], r["label"], r["signs"], f"{folder.name}/{number} {r['gear']}: {r['quote']}") for r in rows]
    return out


def matrix(rows):
    indptr, indices, data = [0], [], []
    for _, _, signs, _ in rows:
        indices += signs
        data += [1 / np.sqrt(max(1, len(signs)))] * len(signs)
        indptr.append(len(indices))
    return csr_matrix((data, indices, indptr), shape=(len(rows), SIGNS))


def fit(rows, strength):
    model = LogisticRegression(C=strength, max_iter=150, tol=1e-3)
    model.fit(matrix(rows), [NAMES.index(r[1]) for r in rows], sample_weight=[r[0] for r in rows])
    return model


def check(said, boats, strength):
    judged = []
    for name, rows in boats.items():
        others = [r for other, rs in boats.items() if other != name for r in rs]
        model = fit(said + others, strength)
        likely = model.predict_proba(matrix(rows))
        judged += list(zip(rows, likely))
    total = sum(len(r) for r in boats.values())
    print("C", strength, "stretches", total, "right", round(np.mean([NAMES.index(r[1]) == p.argmax() for r, p in judged]), 3))
    for label, group in [("well", (0, 1)), ("pass", (0,)), ("bad", (2, 3)), ("unproven", (5,)), ("task", (6,))]:
        score = np.array([p[list(group)].sum() for _, p in judged]); truth = np.array([NAMES.index(r[1]) in group for r, _ in judged])
        order = np.argsort(-score); hits = np.cumsum(truth[order])
        line = []
        for level in (0.5, 0.6, 0.7, 0.8, 0.9):
            n = int((score >= level).sum())
            line.append(f"{level}: {hits[n-1]/n if n else 1:.2f}/{hits[n-1]/truth.sum() if n else 0:.2f}")
        print(f"  {label:9}", "  ".join(line))
    return judged


def write(model, path):
    scale, constant = [], []
    weights = np.zeros((len(NAMES), SIGNS), dtype=np.int8)
    for i in range(len(NAMES)):
        row = model.coef_[i]
        s = float(np.abs(row).max()) / 127
        scale.append(s); constant.append(float(model.intercept_[i]))
        weights[i] = np.rint(row / s).astype(np.int8)
    head = b"".join(struct.pack("<ff", s, c) for s, c in zip(scale, constant))
    Path(path).write_bytes(head + weights.tobytes())


def main():
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--stretches", required=True)
    ask.add_argument("--boats", action="append", default=[], type=Path)
    ask.add_argument("--leave-out", action="append", default=[])
    ask.add_argument("--out", default=HERE.parent / "lexicon" / "judge.bin")
    ask.add_argument("--check", action="store_true")
    ask.add_argument("--strength", type=float, default=STRENGTH, help="the inverse of how much the weights are held down")
    ask.add_argument("--sayings", type=float, default=SAYINGS, help="what all sayings weigh; a stretch of a note weighs 1")
    a = ask.parse_args()
    said = of_sayings(a.stretches, a.sayings)
    boats = {b.name: of_boat(a.stretches, b) for b in folders(["boats"], a.boats, a.leave_out)}
    if a.check:
        for row, p in check(said, boats, a.strength):
            if row[1] != NAMES[p.argmax()]:
                print(f"{row[1]:9} {NAMES[p.argmax()]:9} {p.max():.2f} {row[3][:200]}", file=sys.stderr)
        return
    write(fit(said + [r for rows in boats.values() for r in rows], a.strength), a.out)


if __name__ == "__main__":
    main()

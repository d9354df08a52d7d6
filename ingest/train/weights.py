#!/usr/bin/env python3
"""Trains the weights of signs that decide upon items: `ingest/lexicon/over.toml`, by which an account of gear shows that
an open matter is over, `ingest/lexicon/sure.toml`, by which an item is really left, `ingest/lexicon/tried.toml`, by
which a trial is really one, and `ingest/lexicon/untold.toml`, by which a stretch tells of one that nobody names as such.

    weights.py --programs FOLDER [--boats FOLDER]... [--leave-out BOAT]... [--out FOLDER]

FOLDER holds the built examples `stretches`, `closings`, `items` and `trials` of leadsman-ingest. The notes are those
that `train.py` learns from, and those of `matters/`, which are denser: the model of stretches closes too much by them,
and so do the weights of what is over, which learn from none of them.
What the model of stretches makes of notes that it has read is surer than what it makes of others, so each boat's notes
are judged by a model that has not read them: four are trained, each without a quarter of the boats. Matters and items
are paired with their gold as `fixtures/corpus/score.py` pairs them. An account that holds the words of `closed_by` in
the note that closes a matter is right, every account of a note that closes nothing of it is wrong; an item or a trial
is right that has its pair. Needs scikit-learn; the same data give the same files.
"""
import argparse, json, subprocess, sys, tempfile
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from sklearn.linear_model import LogisticRegression

HERE = Path(__file__).resolve().parent
sys.dont_write_bytecode = True
sys.path[:0] = [str(HERE), str(HERE.parents[1] / "fixtures" / "corpus")]
import train  # noqa: E402
from check import notes_of  # noqa: E402
from score import names_gear, overlap, pair, same_item, same_trial  # noqa: E402

PARTS = 4
# The least sums that decide, settled on boats that the weights had not learnt from; `fixtures/SCORES.md` has the figures.
OVER = {"least": 0.9, "perhaps": -0.5}
SURE = {"least": -0.25}
TRIED = {"least": 0.0, "perhaps": -0.75}
UNTOLD = {"least": 0.75}
# As many trials of one gear, or of one group of it, give it a weight of its own.
OFTEN = 10


def dumped(program, folder, *files):
    """What an example prints of a boat, without its head, and the head, which names the signs."""
    done = subprocess.run([program, folder, *files], capture_output=True, text=True, check=True)
    head, *rows = map(json.loads, done.stdout.splitlines())
    return rows, head


def of_accounts(folder, rows):
    """(signs, right) for each account against an open matter that is known to be right or wrong."""
    *notes, end = rows
    gold = json.loads((folder / "open.gold.json").read_text())
    matters = {}
    for matter in end["ledger"]["closed"] + end["ledger"]["open"]:
        about = matter["about"].split("; put right: ")[0]
        matters[matter["id"]] = {**matter, "about": about, "why": (matter["why"] or [None])[0]}
    pairs, _, _ = pair(gold["open"] + gold["closed"], list(matters.values()), same_item)
    known = {said["id"]: entry for entry, said in pairs}
    out = []
    for note in notes:
        by_matter = {}
        for row in note["against"]:
            by_matter.setdefault(row["matter"], []).append(row)
        for matter, said in by_matter.items():
            entry = known.get(matter)
            if entry is None:
                continue
            closed_in, number = entry.get("closed_in"), note["note"][:2]
            if closed_in is None or closed_in > number:
                out += [(row["signs"], 0) for row in said]
            elif closed_in == number and not entry.get("soft"):
                held = [train.within(entry.get("closed_by", ""), row["quote"]) for row in said]
                most = max(held)
                out += [(row["signs"], 1) for row, share in zip(said, held) if share > 0.3 and share >= 0.6 * most]
    return out


def of_items(folder, rows):
    """(signs, right) for each item that a note raises by words."""
    items = {row["note"]: row["items"] for row in rows}
    out = []
    for gold, note in notes_of(folder):
        pairs, _, extra = pair(json.loads(gold.read_text())["items"], items[note.name], same_item)
        out += [(said["signs"], 1) for entry, said in pairs if said["signs"] and not entry.get("soft")]
        out += [(said["signs"], 0) for said in extra if said["signs"]]
    return out


def of_trials(folder, rows):
    """(signs, right, names of its gear) for each trial of a note."""
    trials = {row["note"]: row["trials"] for row in rows}
    out = []
    for gold, note in notes_of(folder):
        pairs, _, extra = pair(json.loads(gold.read_text())["trials"], trials[note.name], same_trial)
        out += [(said["signs"], 1, said["kinds"]) for entry, said in pairs if not entry.get("soft")]
        out += [(said["signs"], 0, said["kinds"]) for said in extra]
    return out


def of_untold(folder, rows):
    """(signs, right, names of its gear) for each stretch of a note that may be a trial which is not told as such."""
    told = {row["note"]: row for row in rows}
    out = []
    for gold, note in notes_of(folder):
        trials = json.loads(gold.read_text())["trials"]
        _, missed, _ = pair(trials, told[note.name]["trials"], same_trial)
        for said in told[note.name]["untold"]:
            like = [t for t in trials if names_gear(t, said) and overlap(t["quote"], said["quote"]) >= 0.5]
            right = any(t in missed for t in like)
            if right or not any(t.get("soft") for t in like):
                out.append((said["signs"], int(right), said["kinds"]))
    return out


def fit(rows, strength):
    model = LogisticRegression(C=strength, max_iter=3000)
    model.fit([signs for signs, _ in rows], [right for _, right in rows])
    return float(model.intercept_[0]), [float(w) for w in model.coef_[0]]


def write(path, about, bars, names, rows, strength, kinds=()):
    """Writes a file of weights; behind those of the signs each row has a place for each kind, 1 where it is of that kind."""
    constant, weights = fit(rows, strength)
    named = [f"{json.dumps(name)} = {weight:.3f}" for name, weight in zip([*names, *kinds], weights)]
    of = ["", "[of]", *named[len(names):]] if kinds else []
    right = sum(right for _, right in rows)
    lines = [
        *(f"# {line}" for line in about),
        "# Made by `ingest/train/weights.py`, not by hand.",
        f"# Learnt from {len(rows)} of them, {right} right.",
        "",
        f"constant = {constant:.3f}",
        *(f"{name} = {bar:.2f}" for name, bar in bars.items()),
        "",
        "[weights]",
        *named[: len(names)],
        *of,
        "",
    ]
    Path(path).write_text("\n".join(lines))


def write_over(path, head, rows):
    about = [
        "The weights of the signs by which an account of gear shows that an open matter is over; what each is says",
        "`ingest/src/matter/over.rs`. From a sum of `least` on it closes the matter, from `perhaps` on it may be over.",
    ]
    write(path, about, OVER, head["signs"], rows, 1.0)


def write_sure(path, head, rows):
    about = [
        "The weights of the signs by which what a note seems to leave is really left; what each is says",
        "`ingest/src/judge/sure.rs`. An item with a sum below `least` is unsure.",
    ]
    write(path, about, SURE, head["signs"], rows, 0.3)


def write_tried(path, head, rows):
    about = [
        "The weights of the signs by which what seems to be a trial is one, and under [of] those of the gear that it is of; what",
        "each is says `ingest/src/judge/tried.rs`. A pass with a sum below `least` is taken for none, and what did not pass with",
        "one below `perhaps`.",
    ]
    write_of_gear(path, about, TRIED, head["signs"], rows, 0.5)


def write_untold(path, head, rows):
    about = [
        "The weights of the signs by which a stretch tells of a trial that nobody names as such, and under [of] those of the gear",
        "that it is of; what each is says `ingest/src/judge/untold.rs`. From a sum of `least` on it does.",
    ]
    write_of_gear(path, about, UNTOLD, head["untold"], rows, 0.3)


def write_of_gear(path, about, bars, names, rows, strength):
    counts = Counter(kind for _, _, own in rows for kind in own)
    kinds = sorted(kind for kind, count in counts.items() if count >= OFTEN)
    rows = [(signs + [float(kind in own) for kind in kinds], right) for signs, right, own in rows]
    write(path, about, bars, names, rows, strength, kinds)


def judged_by_others(programs, folders, scratch):
    """For each boat a file with a model of stretches that has not read her notes."""
    said = train.of_sayings(programs / "stretches")
    with ThreadPoolExecutor() as pool:
        rows = list(pool.map(lambda f: train.of_boat(programs / "stretches", f), folders))
    files = []
    for part in range(PARTS):
        read = [i for i, folder in enumerate(folders) if i % PARTS != part and folder.parent.name != "matters"]
        others = [r for i in read for r in rows[i]]
        files.append(Path(scratch) / f"without-{part}.bin")
        train.write(train.fit(said + others, train.STRENGTH), files[part])
    return [files[i % PARTS] for i in range(len(folders))]


def main():
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--programs", required=True, type=Path)
    ask.add_argument("--boats", action="append", default=[], type=Path)
    ask.add_argument("--leave-out", action="append", default=[])
    ask.add_argument("--out", default=HERE.parent / "lexicon", type=Path)
    a = ask.parse_args()
    folders = train.folders(["boats", "matters"], a.boats, a.leave_out)
    with tempfile.TemporaryDirectory() as scratch:
        models = judged_by_others(a.programs, folders, scratch)
        def said(program, *more):
            with ThreadPoolExecutor() as pool:
                return list(pool.map(lambda fm: dumped(a.programs / program, *fm, *more), zip(folders, models)))

        def learn(dumps, of, to, name, but=""):
            read = [(folder, own) for folder, (own, _) in zip(folders, dumps) if folder.parent.name != but]
            rows = [row for folder, own in read for row in of(folder, own)]
            to(a.out / f"{name}.toml", dumps[0][1], rows)

        trials = said("trials")
        learn(trials, of_trials, write_tried, "tried")
        learn(trials, of_untold, write_untold, "untold")
        # The others weigh what trials leave and close, those that are found by what was just learnt.
        found = (a.out / "tried.toml", a.out / "untold.toml")
        learn(said("closings", *found), of_accounts, write_over, "over", but="matters")
        learn(said("items", *found), of_items, write_sure, "sure")


if __name__ == "__main__":
    main()

#!/usr/bin/env python3
"""ten_years.py FOLDER: writes the notes of ten years for the benches, 1,000 files of some 20 kB, 20 MB in all.

Each is made of notes of the corpus that are free text, put behind one another under the note's own date, their numbers
moved a little so that no two notes say the same. The same on every machine.
"""
import datetime
import random
import re
import sys
from pathlib import Path

NOTES = 1_000
BYTES = 20_000
CORPUS = Path(__file__).resolve().parents[2] / "fixtures/corpus"
DATE = re.compile(r"\b20\d\d-\d\d-\d\d\b")
DECIMAL = re.compile(r"\b(\d{1,2})\.(\d)\b")


def main():
    folder = Path(sys.argv[1])
    folder.mkdir(parents=True, exist_ok=True)
    draw = random.Random(1)
    texts = [path.read_text(encoding="utf-8-sig") for path in sorted(CORPUS.glob("*/*.txt"))]
    begins = datetime.date(2016, 3, 1)
    for n in range(NOTES):
        day = (begins + datetime.timedelta(days=n * 3_650 // NOTES)).isoformat()
        parts = [f"{day} {draw.randrange(6, 22):02}:{draw.randrange(60):02}"]
        while sum(map(len, parts)) < BYTES:
            text = DATE.sub(day, draw.choice(texts))
            parts.append(DECIMAL.sub(lambda found: f"{found[1]}.{draw.randrange(10)}", text))
        (folder / f"{day}-note.txt").write_text("\n\n".join(parts), encoding="utf-8")


main()

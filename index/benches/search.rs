//! A million utterances: how fast they are indexed by one thread, and how long a question takes at its median and its
//! 99th of a hundred, the first ten with their marked words. Beside it SQLite's FTS5 on the same texts.
//!
//! Wanted: 150,000 a second; term, two terms, a slip, and a filter with a term under 5 ms, a phrase under 15 ms at
//! p99. divan shows no percentiles, so this bench times by itself. Measured figures: `BENCHES.md`.
//!
//! `cargo bench -p leadsman-index --bench search -- [DOCUMENTS]`

use std::time::{Duration, Instant};

use chrono::{DateTime, TimeDelta, Utc};
use leadsman_index::{Document, DocumentKind, Find, Search, SourceId, Word};
use leadsman_ingest::Span;
use sqlx::{AssertSqlSafe, Connection, SqliteConnection};

/// Words of the trade that questions ask for, some common and some rare by their place in the list.
const TRADE: [&str; 48] = [
    "wind",
    "heater",
    "staysail",
    "drogue",
    "rudder",
    "windlass",
    "battery",
    "anchor",
    "chain",
    "mooring",
    "engine",
    "impeller",
    "alternator",
    "genoa",
    "reefing",
    "halyard",
    "sheet",
    "block",
    "winch",
    "furler",
    "shrouds",
    "forestay",
    "backstay",
    "tension",
    "gauge",
    "rigger",
    "bilge",
    "pump",
    "seacock",
    "hatch",
    "leak",
    "condensation",
    "diesel",
    "tank",
    "litres",
    "temperature",
    "autopilot",
    "windvane",
    "steering",
    "tiller",
    "emergency",
    "liferaft",
    "flares",
    "harness",
    "jackstays",
    "compass",
    "barometer",
    "pressure",
];
const COMMON: [&str; 24] = [
    "the", "and", "it", "was", "to", "a", "we", "of", "in", "at", "on", "for", "not", "that", "with", "had",
    "about", "then", "up", "down", "out", "after", "before", "still",
];
const QUESTIONS: usize = 400;

/// A small generator (Knuth's MMIX multiplier), so that every run searches the same million texts.
struct Chance(u64);

impl Chance {
    fn below(&mut self, n: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) as usize) % n
    }

    /// Small numbers far oftener than large ones, as words are spread.
    fn skewed(&mut self, n: usize) -> usize {
        let a = self.below(n);
        let b = self.below(a + 1);
        self.below(b + 1)
    }
}

/// Five thousand words of invented syllables, besides those of the trade.
fn vocabulary() -> Vec<String> {
    let (on, mid, end) = (
        ["b", "dr", "f", "gl", "k", "l", "m", "pr", "st", "v"],
        ["a", "e", "i", "o", "u"],
        ["n", "rt", "sk", "l", "mp"],
    );
    let mut words: Vec<String> = TRADE.iter().map(|word| (*word).to_owned()).collect();
    for n in 0..5_000 {
        let first = format!("{}{}{}", on[n % 10], mid[n / 10 % 5], end[n / 50 % 5]);
        words.push(format!("{first}{}{}", on[n / 250 % 10], mid[n / 2_500 % 5]));
    }
    words
}

fn text(chance: &mut Chance, words: &[String]) -> String {
    let mut text = String::new();
    for n in 0..8 + chance.below(7) {
        if n > 0 {
            text.push(' ');
        }
        text.push_str(if chance.below(2) == 0 {
            COMMON[chance.skewed(24)]
        } else {
            &words[chance.skewed(words.len())]
        });
    }
    text
}

fn document(n: usize, text: String, chance: &mut Chance) -> Document {
    let start = DateTime::parse_from_rfc3339("2016-03-14T10:05:00+11:00").expect("a time");
    let wind = chance.below(40) as f64;
    Document {
        kind: DocumentKind::Utterance,
        source: SourceId::of(&(n / 50).to_le_bytes()),
        n: n % 50,
        at: Some(start + TimeDelta::seconds(n as i64 * 300)),
        span: Span::new(n % 50 * 60, n % 50 * 60 + text.len()),
        gear: if chance.below(3) == 0 { vec![TRADE[chance.below(48)].to_owned()] } else { Vec::new() },
        quantities: Vec::new(),
        outcome: None,
        open: None,
        wind_kn: Some((wind, wind + 4.0)),
        text,
    }
}

fn main() {
    let count = std::env::args().filter_map(|arg| arg.parse().ok()).next_back().unwrap_or(1_000_000);
    let words = vocabulary();
    let texts: Vec<String> = {
        let mut chance = Chance(7);
        (0..count).map(|_| text(&mut chance, &words)).collect()
    };
    let folder = tempfile::tempdir().expect("a folder");
    let search = index(folder.path(), &texts);
    println!("{:28} {:>9} {:>9} {:>9}", "the first ten, ms", "p50", "p99", "most");
    let mut chance = Chance(11);
    let two = |chance: &mut Chance| format!("{} {}", TRADE[chance.below(48)], TRADE[chance.below(48)]);
    let start = DateTime::parse_from_rfc3339("2017-01-01T00:00:00Z").expect("a time").with_timezone(&Utc);
    show("term", &search, || find(TRADE[chance.below(48)]));
    show("two terms", &search, || find(&two(&mut chance)));
    show("one-letter slip", &search, || find(&slipped(&mut chance)));
    show("gear and term", &search, || Find {
        gear: vec![TRADE[chance.below(48)].to_owned()],
        ..find(TRADE[chance.below(48)])
    });
    show("wind 20..30 and term", &search, || Find {
        wind_kn: Some((20.0, 30.0)),
        ..find(TRADE[chance.below(48)])
    });
    show("a year and term", &search, || Find {
        since: Some(start),
        until: Some(start + TimeDelta::days(365)),
        ..find(TRADE[chance.below(48)])
    });
    show("phrase", &search, || phrase(&texts, &mut chance));
    show("term or another name", &search, || {
        let also = vec![TRADE[chance.below(48)].to_owned(), two(&mut chance)];
        Find { words: vec![Word { text: TRADE[chance.below(48)].to_owned(), also }], ..Find::default() }
    });
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().expect("a runtime");
    runtime.block_on(fts5(&folder.path().join("fts5.db"), &texts)).expect("SQLite answers");
}

fn index(folder: &std::path::Path, texts: &[String]) -> Search {
    let folder = folder.join("search");
    std::fs::create_dir(&folder).expect("a folder");
    let mut chance = Chance(3);
    let documents: Vec<_> =
        texts.iter().enumerate().map(|(n, text)| document(n, text.clone(), &mut chance)).collect();
    let (start, busy) = (Instant::now(), busy_seconds());
    let search = leadsman_index::bench::build_search(&folder, documents.into_iter()).expect("an index");
    let took = start.elapsed();
    let bytes: u64 = std::fs::read_dir(&folder)
        .expect("the index's folder")
        .filter_map(|entry| Some(entry.ok()?.metadata().ok()?.len()))
        .sum();
    println!(
        "indexed {} utterances in {:.2} s, {:.0} a second, {} MB",
        texts.len(),
        took.as_secs_f64(),
        texts.len() as f64 / took.as_secs_f64(),
        bytes >> 20
    );
    let busy = busy_seconds() - busy;
    if busy > 0.0 {
        println!("of which the program computed {busy:.2} s, {:.0} a second\n", texts.len() as f64 / busy);
    }
    search
}

/// Processor seconds of this whole program, all threads: on a busy machine they say more than the clock does. 0 where
/// the system doesn't tell.
fn busy_seconds() -> f64 {
    let stat = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    let after_name = stat.rsplit(')').next().unwrap_or_default();
    // utime and stime are fields 14 and 15 of proc(5), in ticks of 10 ms.
    let ticks: u64 =
        after_name.split_whitespace().skip(11).take(2).filter_map(|ticks| ticks.parse::<u64>().ok()).sum();
    ticks as f64 / 100.0
}

fn find(words: &str) -> Find {
    Find::new(words).expect("a question")
}

/// A word of the trade with a letter left out, put in or swapped.
fn slipped(chance: &mut Chance) -> String {
    loop {
        let mut letters: Vec<char> = TRADE[chance.below(48)].chars().collect();
        if letters.len() < 6 {
            continue;
        }
        let at = 1 + chance.below(letters.len() - 2);
        match chance.below(3) {
            0 => drop(letters.remove(at)),
            1 => letters.insert(at, 'x'),
            _ => letters.swap(at, at + 1),
        }
        return letters.into_iter().collect();
    }
}

/// Two words that stand beside each other somewhere, one of them of the trade at least: nobody asks for "of the".
fn phrase(texts: &[String], chance: &mut Chance) -> Find {
    loop {
        let words: Vec<&str> = texts[chance.below(texts.len())].split(' ').collect();
        let at = chance.below(words.len() - 1);
        if TRADE.contains(&words[at]) || TRADE.contains(&words[at + 1]) {
            return find(&format!("\"{} {}\"", words[at], words[at + 1]));
        }
    }
}

fn show(name: &str, search: &Search, mut question: impl FnMut() -> Find) {
    let mut times = Vec::new();
    let mut hits = 0;
    for _ in 0..QUESTIONS {
        let find = question();
        // The quickest of three: what other programs on the machine take is not the index's.
        let mut quickest = Duration::MAX;
        let mut found = Default::default();
        for _ in 0..3 {
            let start = Instant::now();
            found = search.find(&find).expect("an answer");
            quickest = quickest.min(start.elapsed());
        }
        times.push(quickest);
        hits += found.hits.len();
        assert!(
            found.hits.iter().all(|hit| find.words.is_empty() || !hit.marks.is_empty()),
            "marked words: {find:?}"
        );
    }
    assert!(hits > 0, "{name} finds something");
    line(name, times);
}

fn line(name: &str, mut times: Vec<Duration>) {
    times.sort();
    let ms = |time: Duration| time.as_secs_f64() * 1e3;
    let at = |share: f64| ms(times[((times.len() - 1) as f64 * share) as usize]);
    println!("{name:28} {:9.2} {:9.2} {:9.2}", at(0.5), at(0.99), at(1.0));
}

async fn fts5(path: &std::path::Path, texts: &[String]) -> Result<(), sqlx::Error> {
    /// FTS5's ranking takes a tenth of a second a question; more of them would tell nothing new.
    const FEWER: usize = 40;
    let options = sqlx::sqlite::SqliteConnectOptions::new().filename(path).create_if_missing(true);
    let mut conn = SqliteConnection::connect_with(&options).await?;
    let start = Instant::now();
    sqlx::raw_sql("PRAGMA journal_mode = OFF; PRAGMA synchronous = OFF; CREATE VIRTUAL TABLE said USING fts5(text, tokenize = 'porter unicode61')")
        .execute(&mut conn)
        .await?;
    let mut transaction = conn.begin().await?;
    for texts in texts.chunks(1_000) {
        let sql = format!("INSERT INTO said (text) VALUES {}", vec!["(?)"; texts.len()].join(","));
        let mut query = sqlx::query(AssertSqlSafe(sql));
        for text in texts {
            query = query.bind(text);
        }
        query.execute(&mut *transaction).await?;
    }
    transaction.commit().await?;
    let took = start.elapsed().as_secs_f64();
    println!("\nFTS5: indexed in {took:.2} s, {:.0} a second", texts.len() as f64 / took);
    let mut chance = Chance(11);
    let mut questions: Vec<(&str, Vec<String>)> = Vec::new();
    let one = |chance: &mut Chance| TRADE[chance.below(48)].to_owned();
    questions.push(("FTS5 term", (0..FEWER).map(|_| one(&mut chance)).collect()));
    questions.push((
        "FTS5 two terms",
        (0..FEWER).map(|_| format!("{} {}", one(&mut chance), one(&mut chance))).collect(),
    ));
    questions.push((
        "FTS5 phrase",
        (0..FEWER)
            .map(|_| {
                let Word { text, .. } = phrase(texts, &mut chance).words.swap_remove(0);
                format!("\"{text}\"")
            })
            .collect(),
    ));
    for (name, questions) in questions {
        let mut times = Vec::new();
        for question in questions {
            let start = Instant::now();
            let sql = "SELECT rowid, snippet(said, 0, '[', ']', '…', 30) FROM said WHERE said MATCH ? ORDER BY rank LIMIT 10";
            sqlx::query(sql).bind(question).fetch_all(&mut conn).await?;
            times.push(start.elapsed());
        }
        line(name, times);
    }
    conn.close().await
}

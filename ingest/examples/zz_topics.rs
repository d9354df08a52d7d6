//! debug
use leadsman_ingest::{Hints, read, talk::Talk, topic, trial};
fn main() {
    let path = std::env::args().nth(1).unwrap();
    let bytes = std::fs::read(&path).unwrap();
    let note = read(&bytes, &Hints { name: path.clone(), ..Hints::default() });
    let text = String::from_utf8_lossy(&bytes);
    let talk = Talk::new(&text, &note.utterances, &[]);
    let thoughts = topic::thoughts(&talk);
    let verdicts = trial::verdicts(&talk, &thoughts);
    for (i, t) in thoughts.iter().enumerate() {
        println!(
            "{:?}{} topic={:?} head={:?} | {}",
            t.block,
            if t.terse { "t" } else { "" },
            t.topic.map(|m| &talk.mentions[m].name),
            t.head.map(|m| &talk.mentions[m].name),
            talk.quote(t.tokens.clone())
        );
        for v in verdicts.iter().filter(|v| v.thought == i) {
            println!(
                "      >> {:?} {:?} [{}] on {}",
                v.outcome,
                v.weight,
                talk.quote(v.cue.clone()),
                talk.mentions[v.subject].name
            );
        }
    }
}

//! End to end: the real program in temporary homes.
//!
//! One test program, so that a forgotten file is noticed: every file beside this one is a module of it, which
//! `every_file_here_is_run` checks.

mod away;
mod boat;
mod browser;
mod channels;
mod command_line;
mod corpus;
mod decisions;
mod demo;
mod find;
mod home;
mod ingest;
mod instruments;
mod network;
mod open;
mod page;
mod preview;
mod proof;
mod record;
mod report;
mod sailing;
mod served;
mod voice;

/// Every command; its help is a snapshot.
const COMMANDS: &[&str] = &[
    "ingest",
    "preview",
    "explain",
    "open",
    "find",
    "trend",
    "item",
    "close",
    "reopen",
    "accept",
    "put-off",
    "give",
    "wait",
    "rank",
    "due",
    "add",
    "join",
    "split",
    "note",
    "confirm",
    "correct",
    "dismiss",
    "undo",
    "decisions",
    "withdraw",
    "teach",
    "limit",
    "limits",
    "passage",
    "gear",
    "proved",
    "envelope",
    "outings",
    "doubts",
    "notices",
    "budget",
    "reckon",
    "channels",
    "clock",
    "column",
    "record",
    "sailed",
    "polar",
    "check",
    "rebuild",
    "merge",
    "backup",
    "restore",
    "serve",
    "report",
    "export",
    "ashore",
    "completions",
    "manual",
    "voice",
    "rehear",
    "transcript",
    "play",
    "demo",
];

/// A file that no module names would never be run.
#[test]
fn every_file_here_is_run() {
    let here = boat::repository().join("tests");
    let main = std::fs::read_to_string(here.join("main.rs")).expect("this file");
    for entry in std::fs::read_dir(here).expect("this folder") {
        let name = entry.expect("an entry").file_name().to_string_lossy().into_owned();
        if let Some(module) = name.strip_suffix(".rs").filter(|module| *module != "main") {
            assert!(main.contains(&format!("mod {module};")), "tests/{name} is run by nobody");
        }
    }
}

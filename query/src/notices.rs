//! Notices, a few at a time: where, what was expected and found, what to do next.

use std::io;

use chrono::NaiveDate;
use leadsman_ingest::Notice;

use crate::figure;
use crate::screen::{CARE, Screen, styled};

/// How many notices of one source are shown where the rest are only counted.
pub const FEW: usize = 5;

/// Notices on whole sources that say the same, whatever the date: told in full of the first, of the others in a line.
#[derive(Debug, Default)]
pub struct Repeats(Vec<Same>);

#[derive(Debug)]
struct Same {
    message: String,
    first: String,
    also: Vec<String>,
}

impl Repeats {
    /// The notices of a source without those that were told of an earlier one.
    pub fn unsaid(&mut self, name: &str, notices: &[Notice]) -> Vec<Notice> {
        notices.iter().filter(|notice| notice.line.is_some() || self.is_new(name, notice)).cloned().collect()
    }

    fn is_new(&mut self, name: &str, notice: &Notice) -> bool {
        let message = undated(&notice.message);
        let Some(same) = self.0.iter_mut().find(|same| same.message == message) else {
            self.0.push(Same { message, first: name.to_owned(), also: Vec::new() });
            return true;
        };
        if same.first != name {
            same.also.push(name.to_owned());
        }
        same.first == name
    }

    /// Prints which other sources each holds for.
    pub fn show(&self, screen: &mut Screen) -> io::Result<()> {
        for Same { message, also, .. } in self.0.iter().filter(|same| !same.also.is_empty()) {
            let others = figure::count(also.len(), "more source", "more sources");
            let text = format!("{} {message}: {}", styled(CARE, format!("{others}:")), also.join(", "));
            screen.paragraph("", "  ", &text)?;
        }
        Ok(())
    }
}

/// A message without the dates in it.
fn undated(message: &str) -> String {
    let word = |word: &str| {
        let date = word.trim_end_matches(|sign: char| !sign.is_ascii_digit());
        match date.parse::<NaiveDate>() {
            Ok(_) => format!("a date{}", &word[date.len()..]),
            Err(_) => word.to_owned(),
        }
    };
    message.split(' ').map(word).collect::<Vec<_>>().join(" ")
}

/// Prints up to `most` notices of a source and counts the others.
pub fn show(name: &str, notices: &[Notice], most: usize, screen: &mut Screen) -> io::Result<()> {
    for notice in notices.iter().take(most) {
        let place = notice.line.map_or_else(|| name.to_owned(), |line| format!("{name}:{line}"));
        screen.paragraph("", "  ", &format!("{} {}", styled(CARE, format!("{place}:")), notice.message))?;
        if let Some(hint) = &notice.hint {
            screen.paragraph("  hint: ", "  ", hint)?;
        }
    }
    if notices.len() > most {
        let rest = figure::count(notices.len() - most, "more notice", "more notices");
        screen.line(format!("{name}: {rest}; `leadsman notices` shows them all once it is ingested"))?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_holds_for_several_sources_is_told_once() {
        let notice = |date: &str, line| Notice {
            span: None,
            line,
            message: format!("expected a time of day beside {date}, found none: 12:00 stands for the day"),
            hint: None,
        };
        let mut repeats = Repeats::default();
        let left =
            |repeats: &mut Repeats, name, date, line| repeats.unsaid(name, &[notice(date, line)]).len();
        assert_eq!(left(&mut repeats, "a.txt", "2026-05-01", None), 1);
        assert_eq!(left(&mut repeats, "b.txt", "2026-05-02", None), 0);
        assert_eq!(left(&mut repeats, "c.txt", "2026-05-03", None), 0);
        assert_eq!(left(&mut repeats, "c.txt", "2026-05-03", Some(3)), 1, "a line of its own is shown");
        insta::assert_snapshot!(Screen::printed(78, |screen| repeats.show(screen)), @r"
            2 more sources: expected a time of day beside a date, found none: 12:00 stands
              for the day: b.txt, c.txt
        ");
    }
}

//! Questions to the search index, and what comes back.

use std::collections::{BTreeMap, BTreeSet, HashSet};
use std::ops::{Bound, Range};

use chrono::{DateTime, Utc};
use leadsman_ingest::Outcome;
use tantivy::collector::TopDocs;
use tantivy::query::{AllQuery, BooleanQuery, Occur, PhraseQuery, Query, RangeQuery, TermQuery};
use tantivy::schema::{Field, IndexRecordOption};
use tantivy::snippet::SnippetGenerator;
use tantivy::tokenizer::TextAnalyzer;
use tantivy::{DocAddress, Order, Searcher, TantivyDocument, Term};

use crate::error::{Error, Result};
use crate::search::document::state_name;
use crate::search::slip::{neighbours, stems};
use crate::search::{Document, DocumentKind, Search, search};

/// A word or a phrase to look for.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Word {
    /// The word; several words are a phrase, found in this order beside each other.
    pub text: String,
    /// Other words or phrases that will do as well: the gear's other names.
    pub also: Vec<String>,
}

/// A question. What is left empty leaves nothing out.
#[derive(Clone, Debug, PartialEq)]
pub struct Find {
    /// What to look for. Documents that have it all come first, those that have some of it after them.
    pub words: Vec<Word>,
    /// Kinds, any of which will do.
    pub kinds: Vec<DocumentKind>,
    /// Names of gear, any of which will do.
    pub gear: Vec<String>,
    /// Outcomes, any of which will do; only trials have one.
    pub outcomes: Vec<Outcome>,
    /// Names of quantities, any of which will do.
    pub quantities: Vec<String>,
    /// Whether items must stand open, or be closed; only items have a state.
    pub open: Option<bool>,
    /// Not before.
    pub since: Option<DateTime<Utc>>,
    /// Before, that moment itself left out.
    pub until: Option<DateTime<Utc>>,
    /// The wind overlaps this, in kn, both ends taken in.
    pub wind_kn: Option<(f64, f64)>,
    /// How many to bring back at most.
    pub limit: usize,
    /// Longest piece of a text to bring back, in characters.
    pub longest: usize,
}

impl Default for Find {
    fn default() -> Self {
        Self {
            words: Vec::new(),
            kinds: Vec::new(),
            gear: Vec::new(),
            outcomes: Vec::new(),
            quantities: Vec::new(),
            open: None,
            since: None,
            until: None,
            wind_kn: None,
            limit: 10,
            longest: 200,
        }
    }
}

impl Find {
    /// A question for words as a person writes them, phrases in double quotes. Errors: a quote that is not closed.
    pub fn new(asked: &str) -> Result<Self> {
        let plain = asked.replace(['“', '”', '„'], "\"");
        let parts: Vec<&str> = plain.split('"').collect();
        if parts.len().is_multiple_of(2) {
            return Err(Error::Question { expected: "a closing quote", found: asked.to_owned() });
        }
        let mut words = Vec::new();
        for (n, part) in parts.into_iter().enumerate() {
            let pieces: Vec<&str> = if n % 2 == 1 { vec![part] } else { part.split_whitespace().collect() };
            let pieces = pieces.into_iter().filter(|piece| piece.chars().any(char::is_alphanumeric));
            words.extend(pieces.map(|text| Word { text: text.to_owned(), also: Vec::new() }));
        }
        Ok(Self { words, ..Self::default() })
    }
}

/// What came back.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Found {
    /// Best first.
    pub hits: Vec<Hit>,
    /// Words that stand nowhere, each with the stems one slip away that were looked for instead.
    pub slips: Vec<(String, Vec<String>)>,
    /// Words that stand nowhere, and nothing one slip away from them either.
    pub unknown: Vec<String>,
}

/// One document that answers.
#[derive(Clone, Debug, PartialEq)]
pub struct Hit {
    /// The document.
    pub document: Document,
    /// How well it answers; 0 where no words were asked for. Comparable within one answer only.
    pub score: f32,
    /// Whether it has all the words.
    pub complete: bool,
    /// A piece of its text, with the words that were looked for where there are any.
    pub piece: String,
    /// The bytes of the piece that match.
    pub marks: Vec<Range<usize>>,
}

/// One asked-for word as the index knows it: alternatives, each the stems of one word or of a phrase.
struct Group {
    alternatives: Vec<Vec<String>>,
}

impl Search {
    /// Looks for documents.
    pub fn find(&self, find: &Find) -> Result<Found> {
        let searcher = self.reader.searcher();
        let mut analyzer = self.index.tokenizer_for_field(self.fields.text).map_err(search("cut words"))?;
        let mut found = Found::default();
        let groups = self.groups(find, &searcher, &mut analyzer, &mut found)?;
        let filters = self.filters(find);
        if groups.is_empty() {
            if find.words.is_empty() {
                let newest = self.newest(&searcher, filters, find.limit)?;
                found.hits = self.hits(&searcher, newest, &groups, &analyzer, find)?;
            }
            return Ok(found);
        }
        let all = self.query(&groups, Occur::Must, &filters);
        let mut best: Vec<_> =
            top(&searcher, &*all, find.limit)?.into_iter().map(|hit| (hit, true)).collect();
        let all_known = groups.len() == find.words.len();
        if best.len() < find.limit && groups.len() > 1 {
            let have: HashSet<_> = best.iter().map(|((_, address), _)| *address).collect();
            let some = self.query(&groups, Occur::Should, &filters);
            let more = top(&searcher, &*some, find.limit)?;
            best.extend(
                more.into_iter().filter(|(_, address)| !have.contains(address)).map(|hit| (hit, false)),
            );
            best.truncate(find.limit);
        }
        let best = best.into_iter().map(|(hit, complete)| (hit, complete && all_known)).collect();
        found.hits = self.hits(&searcher, best, &groups, &analyzer, find)?;
        // Equal ones stand in an order of their own, not in the one that they happened to be indexed in.
        let place = |hit: &Hit| {
            (std::cmp::Reverse(hit.document.at), hit.document.source, hit.document.kind, hit.document.n)
        };
        found.hits.sort_by(|a, b| {
            let better = (b.complete, b.score).partial_cmp(&(a.complete, a.score));
            better.unwrap_or(std::cmp::Ordering::Equal).then_with(|| place(a).cmp(&place(b)))
        });
        Ok(found)
    }

    fn groups(
        &self,
        find: &Find,
        searcher: &Searcher,
        analyzer: &mut TextAnalyzer,
        found: &mut Found,
    ) -> Result<Vec<Group>> {
        let mut groups = Vec::new();
        for word in &find.words {
            let mut alternatives = Vec::new();
            for text in std::iter::once(&word.text).chain(&word.also) {
                let stems = stems(text, analyzer);
                if !stems.is_empty() && !alternatives.contains(&stems) {
                    alternatives.push(stems);
                }
            }
            let mut known = Vec::new();
            for stems in alternatives {
                if self.all_known(searcher, &stems)? {
                    known.push(stems);
                }
            }
            if known.is_empty() {
                let near = self.near(searcher, &word.text, analyzer)?;
                if near.is_empty() {
                    found.unknown.push(word.text.clone());
                    continue;
                }
                found.slips.push((word.text.clone(), near.iter().map(|stems| stems.join(" ")).collect()));
                known = near;
            }
            groups.push(Group { alternatives: known });
        }
        Ok(groups)
    }

    fn frequency(&self, searcher: &Searcher, stem: &str) -> Result<u64> {
        searcher.doc_freq(&Term::from_field_text(self.fields.text, stem)).map_err(search("look a word up"))
    }

    fn all_known(&self, searcher: &Searcher, stems: &[String]) -> Result<bool> {
        for stem in stems {
            if self.frequency(searcher, stem)? == 0 {
                return Ok(false);
            }
        }
        Ok(true)
    }

    /// What a word or phrase with one slip in each unknown word may have been meant as; commonest first.
    fn near(&self, searcher: &Searcher, text: &str, analyzer: &mut TextAnalyzer) -> Result<Vec<Vec<String>>> {
        /// A phrase with several slips could be meant in many ways: the likeliest few are tried.
        const MOST: usize = 12;
        let mut meant: Vec<Vec<String>> = vec![Vec::new()];
        let lower = text.to_lowercase();
        for word in lower.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()) {
            let own = stems(word, analyzer);
            let choices = if self.all_known(searcher, &own)? {
                vec![own]
            } else {
                let mut near = Vec::new();
                for stem in neighbours(word, analyzer) {
                    let frequency = self.frequency(searcher, &stem)?;
                    if frequency > 0 {
                        near.push((std::cmp::Reverse(frequency), stem));
                    }
                }
                near.sort();
                near.into_iter().take(MOST).map(|(_, stem)| vec![stem]).collect()
            };
            meant = meant
                .iter()
                .flat_map(|before| choices.iter().map(move |choice| [before.as_slice(), choice].concat()))
                .take(MOST)
                .collect();
        }
        meant.retain(|stems| !stems.is_empty());
        Ok(meant)
    }

    fn query(&self, groups: &[Group], occur: Occur, filters: &[Box<dyn Query>]) -> Box<dyn Query> {
        let mut clauses: Vec<Box<dyn Query>> = groups.iter().map(|group| self.any(group)).collect();
        if filters.is_empty() {
            if clauses.len() == 1 {
                return clauses.swap_remove(0);
            }
            return Box::new(BooleanQuery::new(clauses.into_iter().map(|clause| (occur, clause)).collect()));
        }
        if occur == Occur::Should {
            clauses = vec![Box::new(BooleanQuery::union(clauses))];
        }
        clauses.extend(filters.iter().map(|filter| filter.box_clone()));
        Box::new(BooleanQuery::intersection(clauses))
    }

    fn any(&self, group: &Group) -> Box<dyn Query> {
        let term = |stem: &String| Term::from_field_text(self.fields.text, stem);
        let mut any: Vec<Box<dyn Query>> = group
            .alternatives
            .iter()
            .map(|stems| match stems.as_slice() {
                [stem] => {
                    Box::new(TermQuery::new(term(stem), IndexRecordOption::WithFreqs)) as Box<dyn Query>
                }
                stems => Box::new(PhraseQuery::new(stems.iter().map(term).collect())),
            })
            .collect();
        if any.len() == 1 { any.swap_remove(0) } else { Box::new(BooleanQuery::union(any)) }
    }

    fn filters(&self, find: &Find) -> Vec<Box<dyn Query>> {
        let fields = &self.fields;
        let mut filters: Vec<Box<dyn Query>> = Vec::new();
        let mut any_of = |field: Field, names: Vec<&str>| {
            let mut terms: Vec<Box<dyn Query>> = names
                .into_iter()
                .map(|name| {
                    let term = Term::from_field_text(field, name);
                    Box::new(TermQuery::new(term, IndexRecordOption::Basic)) as Box<dyn Query>
                })
                .collect();
            match terms.len() {
                0 => {}
                1 => filters.push(terms.swap_remove(0)),
                _ => filters.push(Box::new(BooleanQuery::union(terms))),
            }
        };
        any_of(fields.kind, find.kinds.iter().map(|kind| kind.name()).collect());
        any_of(fields.gear, find.gear.iter().map(String::as_str).collect());
        any_of(fields.outcome, find.outcomes.iter().map(|outcome| outcome.name()).collect());
        any_of(fields.quantity, find.quantities.iter().map(String::as_str).collect());
        any_of(fields.state, find.open.map(state_name).into_iter().collect());
        if find.since.is_some() || find.until.is_some() {
            let term = |time: DateTime<Utc>| Term::from_field_i64(fields.at, time.timestamp_millis());
            // A range needs one end to know its field by.
            let from =
                find.since.map_or(Bound::Included(Term::from_field_i64(fields.at, i64::MIN)), |since| {
                    Bound::Included(term(since))
                });
            let to = find.until.map_or(Bound::Unbounded, |until| Bound::Excluded(term(until)));
            filters.push(Box::new(RangeQuery::new(from, to)));
        }
        if let Some((low, high)) = find.wind_kn {
            let term = Term::from_field_f64;
            filters.push(Box::new(RangeQuery::new(
                Bound::Included(term(fields.wind_high, low)),
                Bound::Unbounded,
            )));
            filters.push(Box::new(RangeQuery::new(
                Bound::Unbounded,
                Bound::Included(term(fields.wind_low, high)),
            )));
        }
        filters
    }

    /// With no words to go by, the newest come first.
    fn newest(
        &self,
        searcher: &Searcher,
        filters: Vec<Box<dyn Query>>,
        limit: usize,
    ) -> Result<Vec<((f32, DocAddress), bool)>> {
        let query: Box<dyn Query> = if filters.is_empty() {
            Box::new(AllQuery)
        } else {
            Box::new(BooleanQuery::intersection(filters))
        };
        let collector = TopDocs::with_limit(limit.max(1)).order_by_fast_field::<i64>("at", Order::Desc);
        let newest = searcher.search(&*query, &collector).map_err(search("search"))?;
        Ok(newest.into_iter().take(limit).map(|(_, address)| ((0.0, address), true)).collect())
    }

    fn hits(
        &self,
        searcher: &Searcher,
        best: Vec<((f32, DocAddress), bool)>,
        groups: &[Group],
        analyzer: &TextAnalyzer,
        find: &Find,
    ) -> Result<Vec<Hit>> {
        let terms: BTreeSet<&String> =
            groups.iter().flat_map(|group| &group.alternatives).flatten().collect();
        let mut weights = BTreeMap::new();
        for stem in terms {
            weights.insert(stem.clone(), 1.0 / (1.0 + self.frequency(searcher, stem)? as f32));
        }
        let marker = SnippetGenerator::new(weights, analyzer.clone(), self.fields.text, find.longest.max(1));
        best.into_iter()
            .map(|((score, address), complete)| {
                let stored: TantivyDocument = searcher.doc(address).map_err(search("read a document"))?;
                let document = Document::from_stored(&stored, &self.fields)?;
                let snippet = marker.snippet(&document.text);
                let (piece, marks) = if snippet.is_empty() {
                    (document.text.chars().take(find.longest).collect(), Vec::new())
                } else {
                    (snippet.fragment().to_owned(), snippet.highlighted().to_vec())
                };
                Ok(Hit { document, score, complete, piece, marks })
            })
            .collect()
    }
}

fn top(searcher: &Searcher, query: &dyn Query, limit: usize) -> Result<Vec<(f32, DocAddress)>> {
    // tantivy refuses a limit of none.
    let best = searcher
        .search(query, &TopDocs::with_limit(limit.max(1)).order_by_score())
        .map_err(search("search"))?;
    Ok(best.into_iter().take(limit).collect())
}

//! One delta's JSON, taken in without building it: strings and numbers go straight into buffers used again.
//!
//! Keys may come in any order, so nothing is given out before the whole object has been read.

use std::fmt;

use serde::de::{DeserializeSeed, Deserializer, IgnoredAny, MapAccess, SeqAccess, Visitor};

/// A value as sent.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) enum Sent {
    /// None was there.
    #[default]
    Missing,
    /// `null`: not available.
    Null,
    /// A number.
    Number(f64),
    /// An object: what it holds of these, each NaN where it does not.
    Object { latitude: f64, longitude: f64, altitude: f64, roll: f64, pitch: f64 },
    /// Text, a truth value, a list.
    Other,
}

/// A path, as a stretch of [`Delta::text`], and its value.
#[derive(Clone, Copy, Debug)]
pub(super) struct Entry {
    pub(super) path: (usize, usize),
    pub(super) value: Sent,
}

/// One update: its sender and time as stretches of [`Delta::text`], its values as a stretch of [`Delta::entries`].
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Update {
    pub(super) source: (usize, usize),
    pub(super) time: Option<(usize, usize)>,
    pub(super) entries: (usize, usize),
}

/// A delta, or what else a line may hold.
#[derive(Debug, Default)]
pub(super) struct Delta {
    text: String,
    pub(super) updates: Vec<Update>,
    pub(super) entries: Vec<Entry>,
    context: Option<(usize, usize)>,
    own: Option<(usize, usize)>,
    /// It has `updates`.
    pub(super) is_delta: bool,
    /// It has a property that greets: `version`, `self`, `roles`.
    pub(super) is_greeting: bool,
    /// It has a property, at any level, that a delta does not have, or lacks one that it must have.
    pub(super) is_wrong: bool,
}

impl Delta {
    /// Reads a line; false where it is not a JSON object.
    pub(super) fn read(&mut self, line: &[u8]) -> bool {
        self.text.clear();
        self.updates.clear();
        self.entries.clear();
        self.context = None;
        self.own = None;
        (self.is_delta, self.is_greeting, self.is_wrong) = (false, false, false);
        let mut json = serde_json::Deserializer::from_slice(line);
        Top(self).deserialize(&mut json).is_ok() && json.end().is_ok()
    }

    /// A stretch of text.
    pub(super) fn at(&self, (start, end): (usize, usize)) -> &str {
        &self.text[start..end]
    }

    /// Whose values they are.
    pub(super) fn context(&self) -> Option<&str> {
        self.context.map(|context| self.at(context))
    }

    /// Who a greeting says that the own boat is.
    pub(super) fn own(&self) -> Option<&str> {
        self.own.map(|own| self.at(own))
    }

    fn keep(&mut self, text: &str) -> (usize, usize) {
        let start = self.text.len();
        self.text.push_str(text);
        (start, self.text.len())
    }
}

/// Reads an object's keys, each by a function that must read the value.
macro_rules! object {
    ($seed:ident, $what:literal, |$this:ident, $key:ident, $map:ident| $each:block $(, done |$end:ident| $done:block)?) => {
        impl<'de> DeserializeSeed<'de> for $seed<'_> {
            type Value = ();

            fn deserialize<D: Deserializer<'de>>(self, json: D) -> Result<(), D::Error> {
                json.deserialize_map(self)
            }
        }

        impl<'de> Visitor<'de> for $seed<'_> {
            type Value = ();

            fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
                f.write_str($what)
            }

            #[allow(unused_mut, clippy::allow_attributes, reason = "not every object keeps something by itself")]
            fn visit_map<A: MapAccess<'de>>(mut self, mut $map: A) -> Result<(), A::Error> {
                let $this = &mut self;
                let mut keys = Key::default();
                while $map.next_key_seed(&mut keys)?.is_some() {
                    let $key = keys.as_str();
                    $each
                }
                $(let $end = self; $done)?
                Ok(())
            }
        }
    };
}

/// A key, short ones only: a longer one is none that is known.
#[derive(Default)]
struct Key {
    bytes: [u8; 16],
    length: usize,
}

impl Key {
    fn as_str(&self) -> &str {
        std::str::from_utf8(&self.bytes[..self.length]).unwrap_or_default()
    }
}

impl<'de> DeserializeSeed<'de> for &mut Key {
    type Value = ();

    fn deserialize<D: Deserializer<'de>>(self, json: D) -> Result<(), D::Error> {
        json.deserialize_str(self)
    }
}

impl Visitor<'_> for &mut Key {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str("a key")
    }

    fn visit_str<E>(self, key: &str) -> Result<(), E> {
        self.length = if key.len() <= self.bytes.len() { key.len() } else { 0 };
        self.bytes[..self.length].copy_from_slice(&key.as_bytes()[..self.length]);
        Ok(())
    }
}

/// Text to keep; anything else is wrong but no end to reading.
struct Text<'a>(&'a mut Delta);

impl<'de> DeserializeSeed<'de> for Text<'_> {
    type Value = (usize, usize);

    fn deserialize<D: Deserializer<'de>>(self, json: D) -> Result<(usize, usize), D::Error> {
        json.deserialize_str(self)
    }
}

impl Visitor<'_> for Text<'_> {
    type Value = (usize, usize);

    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str("text")
    }

    fn visit_str<E>(self, text: &str) -> Result<(usize, usize), E> {
        Ok(self.0.keep(text))
    }
}

struct Top<'a>(&'a mut Delta);

object!(Top, "a Signal K object", |this, key, map| {
    match key {
        "updates" => {
            this.0.is_delta = true;
            map.next_value_seed(Updates(&mut *this.0))?;
        }
        "context" => this.0.context = Some(map.next_value_seed(Text(&mut *this.0))?),
        "self" => {
            this.0.is_greeting = true;
            this.0.own = Some(map.next_value_seed(Text(&mut *this.0))?);
        }
        "version" | "roles" | "name" | "timestamp" => {
            this.0.is_greeting = true;
            map.next_value::<IgnoredAny>()?;
        }
        _ => {
            this.0.is_wrong = true;
            map.next_value::<IgnoredAny>()?;
        }
    }
});

/// A list, each of whose elements is read by one seed.
macro_rules! list {
    ($seed:ident, $what:literal, $each:ident) => {
        struct $seed<'a>(&'a mut Delta);

        impl<'de> DeserializeSeed<'de> for $seed<'_> {
            type Value = ();

            fn deserialize<D: Deserializer<'de>>(self, json: D) -> Result<(), D::Error> {
                json.deserialize_seq(self)
            }
        }

        impl<'de> Visitor<'de> for $seed<'_> {
            type Value = ();

            fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
                f.write_str($what)
            }

            fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<(), A::Error> {
                while list.next_element_seed($each::new(&mut *self.0))?.is_some() {}
                Ok(())
            }
        }
    };
}

list!(Updates, "a list of updates", OneUpdate);
list!(Entries, "a list of values", OneEntry);

struct OneUpdate<'a> {
    delta: &'a mut Delta,
    update: Update,
}

impl<'a> OneUpdate<'a> {
    fn new(delta: &'a mut Delta) -> Self {
        Self { delta, update: Update::default() }
    }
}

object!(
    OneUpdate,
    "an update",
    |this, key, map| {
        match key {
            "$source" => this.update.source = map.next_value_seed(Text(&mut *this.delta))?,
            "source" => {
                let start = this.delta.text.len();
                map.next_value_seed(Sender(&mut *this.delta))?;
                // A `$source` that came before names the sender better than the parts do.
                if this.update.source.0 == this.update.source.1 {
                    this.update.source = (start, this.delta.text.len());
                }
            }
            "timestamp" => this.update.time = Some(map.next_value_seed(Text(&mut *this.delta))?),
            "values" => {
                let start = this.delta.entries.len();
                map.next_value_seed(Entries(&mut *this.delta))?;
                this.update.entries = (start, this.delta.entries.len());
            }
            "meta" => {
                map.next_value::<IgnoredAny>()?;
            }
            _ => {
                this.delta.is_wrong = true;
                map.next_value::<IgnoredAny>()?;
            }
        }
    },
    done | this | {
        this.delta.updates.push(this.update);
    }
);

/// The parts of a sender's description that name it, put one after the other.
struct Sender<'a>(&'a mut Delta);

object!(Sender, "a sender's description", |this, key, map| {
    match key {
        "label" | "src" | "talker" => {
            let before = this.0.text.len();
            map.next_value_seed(Loose(&mut *this.0))?;
            if this.0.text.len() > before {
                this.0.text.push(' ');
            }
        }
        _ => {
            map.next_value::<IgnoredAny>()?;
        }
    }
});

struct OneEntry<'a> {
    delta: &'a mut Delta,
    path: Option<(usize, usize)>,
    value: Sent,
}

impl<'a> OneEntry<'a> {
    fn new(delta: &'a mut Delta) -> Self {
        Self { delta, path: None, value: Sent::Missing }
    }
}

object!(
    OneEntry,
    "a path and its value",
    |this, key, map| {
        match key {
            "path" => this.path = Some(map.next_value_seed(Text(&mut *this.delta))?),
            "value" => this.value = map.next_value_seed(Value)?,
            _ => {
                this.delta.is_wrong = true;
                map.next_value::<IgnoredAny>()?;
            }
        }
    },
    done | this | {
        match this.path {
            Some(path) if this.value != Sent::Missing => {
                this.delta.entries.push(Entry { path, value: this.value });
            }
            _ => this.delta.is_wrong = true,
        }
    }
);

/// Reads anything, by a visitor whose leaves stand in the block.
macro_rules! anything {
    ($seed:ty, $value:ty, $what:literal, { $($leaf:item)* }) => {
        impl<'de> DeserializeSeed<'de> for $seed {
            type Value = $value;

            fn deserialize<D: Deserializer<'de>>(self, json: D) -> Result<$value, D::Error> {
                json.deserialize_any(self)
            }
        }

        impl<'de> Visitor<'de> for $seed {
            type Value = $value;

            fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
                f.write_str($what)
            }

            $($leaf)*
        }
    };
}

/// Text or a number, kept as text.
struct Loose<'a>(&'a mut Delta);

anything!(Loose<'_>, (), "text or a number", {
    fn visit_str<E>(self, text: &str) -> Result<(), E> {
        self.0.text.push_str(text);
        Ok(())
    }

    fn visit_u64<E>(self, number: u64) -> Result<(), E> {
        self.0.text.push_str(&number.to_string());
        Ok(())
    }

    fn visit_unit<E>(self) -> Result<(), E> {
        Ok(())
    }
});

struct Value;

anything!(Value, Sent, "a value", {
    fn visit_f64<E>(self, number: f64) -> Result<Sent, E> {
        Ok(Sent::Number(number))
    }

    fn visit_u64<E>(self, number: u64) -> Result<Sent, E> {
        Ok(Sent::Number(number as f64))
    }

    fn visit_i64<E>(self, number: i64) -> Result<Sent, E> {
        Ok(Sent::Number(number as f64))
    }

    fn visit_unit<E>(self) -> Result<Sent, E> {
        Ok(Sent::Null)
    }

    fn visit_bool<E>(self, _: bool) -> Result<Sent, E> {
        Ok(Sent::Other)
    }

    fn visit_str<E>(self, _: &str) -> Result<Sent, E> {
        Ok(Sent::Other)
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Sent, A::Error> {
        while list.next_element::<IgnoredAny>()?.is_some() {}
        Ok(Sent::Other)
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Sent, A::Error> {
        let [mut latitude, mut longitude, mut altitude, mut roll, mut pitch] = [f64::NAN; 5];
        let mut key = Key::default();
        while map.next_key_seed(&mut key)?.is_some() {
            let place = match key.as_str() {
                "latitude" => &mut latitude,
                "longitude" => &mut longitude,
                "altitude" => &mut altitude,
                "roll" => &mut roll,
                "pitch" => &mut pitch,
                _ => {
                    map.next_value::<IgnoredAny>()?;
                    continue;
                }
            };
            // Whatever else stands there is no number, and leaves the place as it is.
            if let Sent::Number(number) = map.next_value_seed(Value)? {
                *place = number;
            }
        }
        Ok(Sent::Object { latitude, longitude, altitude, roll, pitch })
    }
});

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_in_any_order() {
        let mut delta = Delta::default();
        assert!(delta.read(
            br#"{"updates":[{"values":[{"value":3.85,"path":"navigation.speedOverGround"}],"$source":"gps.1",
            "timestamp":"2014-08-15T16:00:05.200Z"}],"context":"vessels.self"}"#
        ));
        assert_eq!(delta.context(), Some("vessels.self"));
        let update = delta.updates[0];
        assert_eq!(delta.at(update.source), "gps.1");
        assert_eq!(update.time.map(|time| delta.at(time)), Some("2014-08-15T16:00:05.200Z"));
        assert_eq!(delta.at(delta.entries[0].path), "navigation.speedOverGround");
        assert_eq!(delta.entries[0].value, Sent::Number(3.85));
        assert!(delta.is_delta && !delta.is_wrong);
    }

    #[test]
    fn not_json() {
        let mut delta = Delta::default();
        for line in ["", "{", "[]", "3", "{}x", "{\"updates\":3}", "{\"context\":\"\\ud800\"}", "{\"a\":NaN}"]
        {
            assert!(!delta.read(line.as_bytes()), "{line}");
        }
        let deep = format!("{{\"updates\":{}", "[".repeat(100_000));
        assert!(!delta.read(deep.as_bytes()));
    }
}

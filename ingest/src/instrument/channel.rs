//! Channels: one quantity from one sender, and the small numbers that samples carry in their place.

use std::io::Write as _;

use super::quantity::{Quantity, Reference};

/// One quantity from one sender.
///
/// Two wind instruments stay two channels, and so do two sentences of one instrument that tell the same
/// quantity: that a depth by `DPT` and one by `DBT` differ is something to know.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Channel {
    /// What is measured.
    pub quantity: Quantity,
    /// What it is measured from or against.
    pub reference: Reference,
    /// Who sent it: talker and sentence (`SDDPT`), address and PGN (`n2k:35/130306`), a Signal K `$source`, a
    /// column's header, `gpx`; `computed` for what is worked out here.
    pub source: String,
    /// Which of several: a number, a transducer's name, a battery's; empty where there is but one.
    pub instance: String,
}

/// A channel's number within one log: an index into [`Parsed::channels`](super::Parsed).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct ChannelId(pub u16);

impl ChannelId {
    /// The number as an index.
    pub fn index(self) -> usize {
        usize::from(self.0)
    }
}

/// Channels that one log may have; a log of garbage must not fill the memory with names.
pub const CHANNELS_MAX: usize = 4096;

/// Sender of a sample, in 40 bits: five letters of a sentence's address, or the number of an interned name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Source(u64);

impl Source {
    /// Worked out here.
    pub(super) const COMPUTED: Source = Source(1 << 24);

    /// Talker and sentence; `address` has five printable bytes.
    pub(super) fn address(address: &[u8; 5]) -> Source {
        let [a, b, c, d, e] = *address;
        Source(u64::from_be_bytes([0, 0, 0, a, b, c, d, e]))
    }

    fn name(self, names: &Names) -> String {
        if self == Self::COMPUTED {
            return "computed".into();
        }
        let [_, _, _, rest @ ..] = self.0.to_be_bytes();
        if rest[0] == 0 { names.get(self.0 as usize) } else { String::from_utf8_lossy(&rest).into_owned() }
    }
}

/// Which of several, in 12 bits: a number below [`NAMED`], or an interned name.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Instance(u16);

const NAMED: u16 = 1024;
const INSTANCES: u16 = 4096;

impl Instance {
    /// There is but one.
    pub(super) const ONLY: Instance = Instance(0);

    /// A number; one that is too large for its place is taken as the largest.
    pub(super) fn number(number: u16) -> Instance {
        Instance((number + 1).min(NAMED - 1))
    }
}

/// The channels of a log as they turn up.
#[derive(Debug, Default)]
pub(super) struct Channels {
    ids: SmallMap,
    list: Vec<Channel>,
    sources: Names,
    instances: Names,
}

impl Channels {
    /// The number of a channel, a new one where it was not seen before; `None` when there are too many.
    #[inline]
    pub(super) fn id(
        &mut self,
        source: Source,
        quantity: Quantity,
        reference: Reference,
        instance: Instance,
    ) -> Option<ChannelId> {
        // 40 bits of sender, 8 of quantity, 4 of reference, 12 of instance. Never 0, as no sender is.
        let key = source.0 << 24 | (quantity as u64) << 16 | (reference as u64) << 12 | u64::from(instance.0);
        match self.ids.get(key) {
            Some(id) => Some(ChannelId(id as u16)),
            None => self.add(key, source, quantity, reference, instance),
        }
    }

    #[cold]
    fn add(
        &mut self,
        key: u64,
        source: Source,
        quantity: Quantity,
        reference: Reference,
        instance: Instance,
    ) -> Option<ChannelId> {
        if self.list.len() >= CHANNELS_MAX {
            return None;
        }
        let id = self.list.len() as u16;
        self.ids.insert(key, u32::from(id));
        let instance = match instance.0 {
            0 => String::new(),
            n if n < NAMED => (n - 1).to_string(),
            n => self.instances.get(usize::from(n - NAMED)),
        };
        self.list.push(Channel { quantity, reference, source: source.name(&self.sources), instance });
        Some(ChannelId(id))
    }

    /// Interns a sender's name; `None` when there are too many names.
    pub(super) fn source(&mut self, name: &str) -> Option<Source> {
        // Number 0 is left out, so that a key is never 0.
        if self.sources.list.is_empty() {
            self.sources.list.push(String::new());
        }
        self.sources.intern(name, CHANNELS_MAX).map(|n| Source(n as u64))
    }

    /// Interns an instance's name; `None` when there are too many names.
    pub(super) fn instance(&mut self, name: &str) -> Option<Instance> {
        if name.is_empty() {
            return Some(Instance::ONLY);
        }
        self.instances.intern(name, usize::from(INSTANCES - NAMED)).map(|n| Instance(NAMED + n as u16))
    }

    /// Interns a name with a number behind it ("battery 1").
    pub(super) fn numbered_instance(&mut self, name: &str, number: u16) -> Option<Instance> {
        // Put together on the stack, as it is asked for every battery's every message.
        let mut text = [0u8; 48];
        let mut rest = &mut text[..];
        let written = write!(rest, "{name} {number}");
        let left = rest.len();
        let length = text.len() - left;
        match written {
            Ok(()) => self.instance(String::from_utf8_lossy(&text[..length]).trim_start()),
            // A longer name than any there is here.
            Err(_) => self.instance(name),
        }
    }

    /// The channels, by number.
    pub(super) fn list(&self) -> &[Channel] {
        &self.list
    }

    /// Gives the channels up.
    pub(super) fn into_list(self) -> Vec<Channel> {
        self.list
    }
}

#[derive(Debug, Default)]
struct Names {
    list: Vec<String>,
    numbers: std::collections::HashMap<String, usize>,
}

impl Names {
    fn get(&self, number: usize) -> String {
        self.list.get(number).cloned().unwrap_or_default()
    }

    fn intern(&mut self, name: &str, max: usize) -> Option<usize> {
        /// A name is for showing; a longer one is cut.
        const NAME_MAX: usize = 80;
        let name = match name.char_indices().nth(NAME_MAX) {
            Some((cut, _)) => &name[..cut],
            None => name,
        };
        if let Some(&number) = self.numbers.get(name) {
            return Some(number);
        }
        if self.list.len() >= max {
            return None;
        }
        self.list.push(name.to_owned());
        self.numbers.insert(name.to_owned(), self.list.len() - 1);
        Some(self.list.len() - 1)
    }
}

/// A map from non-zero keys to small numbers: open addressing in one array, as it is asked once a sample.
#[derive(Debug)]
pub(super) struct SmallMap {
    slots: Vec<(u64, u32)>,
    len: usize,
}

impl Default for SmallMap {
    fn default() -> Self {
        Self { slots: vec![(0, 0); 256], len: 0 }
    }
}

impl SmallMap {
    #[inline]
    fn slot(&self, key: u64) -> usize {
        // Fibonacci hashing; the high half is the well mixed one.
        (key.wrapping_mul(0x9E37_79B9_7F4A_7C15) >> 32) as usize & (self.slots.len() - 1)
    }

    /// Looks a key up.
    #[inline]
    pub(super) fn get(&self, key: u64) -> Option<u32> {
        let mut at = self.slot(key);
        loop {
            match self.slots[at] {
                (found, value) if found == key => return Some(value),
                (0, _) => return None,
                _ => at = (at + 1) & (self.slots.len() - 1),
            }
        }
    }

    /// Adds a key that is not there yet.
    pub(super) fn insert(&mut self, key: u64, value: u32) {
        debug_assert_ne!(key, 0, "0 marks a free slot");
        if self.len * 2 >= self.slots.len() {
            let grown = vec![(0, 0); self.slots.len() * 2];
            for (key, value) in std::mem::replace(&mut self.slots, grown) {
                if key != 0 {
                    self.place(key, value);
                }
            }
        }
        self.place(key, value);
        self.len += 1;
    }

    fn place(&mut self, key: u64, value: u32) {
        let mut at = self.slot(key);
        while self.slots[at].0 != 0 {
            at = (at + 1) & (self.slots.len() - 1);
        }
        self.slots[at] = (key, value);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_channel_has_the_same_number() {
        let mut channels = Channels::default();
        let wind = Source::address(b"WIMWV");
        let first =
            channels.id(wind, Quantity::ApparentWindSpeed, Reference::Unsaid, Instance::ONLY).expect("room");
        let other =
            channels.id(wind, Quantity::TrueWindSpeed, Reference::Water, Instance::ONLY).expect("room");
        let again =
            channels.id(wind, Quantity::ApparentWindSpeed, Reference::Unsaid, Instance::ONLY).expect("room");
        assert_eq!(first, again);
        assert_ne!(first, other);
        assert_eq!(channels.list()[first.index()].source, "WIMWV");
    }

    #[test]
    fn names_and_numbers_of_instances_are_shown() {
        let mut channels = Channels::default();
        let house = channels.instance("house").expect("room");
        let source = channels.source("n2k:3/127508").expect("room");
        channels.id(source, Quantity::Voltage, Reference::Unsaid, house);
        channels.id(source, Quantity::Voltage, Reference::Unsaid, Instance::number(0));
        channels.id(source, Quantity::Voltage, Reference::Unsaid, Instance::ONLY);
        channels.id(Source::COMPUTED, Quantity::TrueWindSpeed, Reference::Water, Instance::ONLY);
        let seen: Vec<_> = channels.list().iter().map(|c| (c.source.as_str(), c.instance.as_str())).collect();
        assert_eq!(
            seen,
            [("n2k:3/127508", "house"), ("n2k:3/127508", "0"), ("n2k:3/127508", ""), ("computed", "")]
        );
    }

    #[test]
    fn a_flood_of_names_is_bounded() {
        let mut channels = Channels::default();
        let mut refused = 0;
        for n in 0..10_000 {
            let taken = channels
                .source(&format!("sender {n}"))
                .and_then(|source| channels.id(source, Quantity::Generic, Reference::Unsaid, Instance::ONLY));
            refused += usize::from(taken.is_none());
        }
        assert!(refused >= 10_000 - CHANNELS_MAX, "{refused}");
        assert!(channels.list().len() <= CHANNELS_MAX);
    }
}

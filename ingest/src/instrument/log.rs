//! A log being read: what every format's reader shares. Channels, clock, account, computing, and the way out.

use super::account::{Account, Kindred, Ledger, Refusal};
use super::channel::{Channel, ChannelId, Channels, Instance, Source};
use super::clock::{Clock, Instant};
use super::quantity::{Quantity, Reference};
use super::wind::Computer;
use super::{Kind, Parsed};
use crate::Hints;
use crate::found::Notice;

/// One value of one channel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sample {
    /// The channel, an index into [`Parsed::channels`].
    pub channel: ChannelId,
    /// What is measured, so that a sink need not look the channel up.
    pub quantity: Quantity,
    /// When.
    pub at: Option<Instant>,
    /// How much, in the quantity's canonical unit.
    pub value: f64,
    /// Where its record begins, in bytes of the source.
    pub offset: u64,
}

/// Where samples go.
pub trait Sink {
    /// Hears of a channel, before its first sample.
    fn channel(&mut self, id: ChannelId, channel: &Channel) {
        let _ = (id, channel);
    }

    /// Takes a sample.
    fn sample(&mut self, sample: Sample);
}

/// A function as a sink that asks nothing of channels.
#[derive(Debug)]
pub(super) struct Each<'a, F>(pub(super) &'a mut F);

impl<F: FnMut(Sample)> Sink for Each<'_, F> {
    #[inline]
    fn sample(&mut self, sample: Sample) {
        (self.0)(sample);
    }
}

/// One value of a record, before it is known to be usable.
#[derive(Clone, Copy, Debug)]
pub(super) struct Value {
    pub(super) quantity: Quantity,
    pub(super) reference: Reference,
    pub(super) instance: Instance,
    pub(super) value: f64,
}

/// A time that a record tells.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Told {
    /// Days since 1970-01-01 and microseconds since midnight, UTC.
    Dated(i64, i64),
    /// Microseconds since midnight, UTC.
    TimeOfDay(i64),
}

/// The values of one record, in one array that is used again for the next.
#[derive(Debug)]
pub(super) struct Values {
    list: [Value; Values::MAX],
    len: usize,
    /// A time that the record tells.
    pub(super) told: Option<Told>,
    /// The values come from instruments that have nothing to do with each other, so that one out of range says
    /// nothing of the others.
    pub(super) apart: bool,
    /// Why the record's reader refused some of its values by itself.
    refused: Vec<Refusal>,
}

impl Values {
    /// Values that one record may have.
    pub(super) const MAX: usize = 64;

    pub(super) fn new() -> Self {
        let nothing = Value {
            quantity: Quantity::Generic,
            reference: Reference::Unsaid,
            instance: Instance::ONLY,
            value: 0.0,
        };
        Self { list: [nothing; Self::MAX], len: 0, told: None, apart: false, refused: Vec::new() }
    }

    #[inline]
    pub(super) fn clear(&mut self) {
        self.len = 0;
        self.told = None;
        self.apart = false;
        self.refused.clear();
    }

    /// Adds a value.
    #[inline]
    pub(super) fn put(&mut self, quantity: Quantity, reference: Reference, value: f64) {
        self.put_instance(quantity, reference, Instance::ONLY, value);
    }

    /// Adds a value of one of several.
    #[inline]
    pub(super) fn put_instance(
        &mut self,
        quantity: Quantity,
        reference: Reference,
        instance: Instance,
        value: f64,
    ) {
        if let Some(place) = self.list.get_mut(self.len) {
            *place = Value { quantity, reference, instance, value: quantity.kept(value) };
            self.len += 1;
        } else {
            self.refuse(Refusal::TooLong);
        }
    }

    /// Refuses one value of the record.
    pub(super) fn refuse(&mut self, why: Refusal) {
        self.refused.push(why);
    }

    pub(super) fn list(&self) -> &[Value] {
        &self.list[..self.len]
    }
}

/// What the readers of all formats share.
#[derive(Debug)]
pub(super) struct Log {
    pub(super) channels: Channels,
    pub(super) clock: Clock,
    pub(super) ledger: Ledger,
    /// The line being read, from 1.
    pub(super) line: u64,
    pub(super) notices: Vec<Notice>,
    computer: Computer,
    /// Channels that the sink has heard of.
    announced: usize,
}

impl Log {
    pub(super) fn new(hints: &Hints) -> Self {
        Self {
            channels: Channels::default(),
            clock: Clock::new(hints),
            ledger: Ledger::default(),
            line: 0,
            notices: Vec::new(),
            computer: Computer::default(),
            announced: 0,
        }
    }

    /// Gives a record's values out and enters the record in the account.
    #[inline]
    pub(super) fn give(
        &mut self,
        kind: Kindred,
        source: Source,
        values: &Values,
        offset: u64,
        sink: &mut impl Sink,
    ) {
        match self.take(kind, source, values, offset, sink) {
            Ok(()) => self.ledger.used(kind),
            Err(why) => self.ledger.refused(kind, why, self.line),
        }
    }

    /// Gives a record's values out, or says why none can be; the caller enters the record in the account.
    #[inline]
    pub(super) fn take(
        &mut self,
        kind: Kindred,
        source: Source,
        values: &Values,
        offset: u64,
        sink: &mut impl Sink,
    ) -> Result<(), Refusal> {
        let list = values.list();
        let out_of_range = list.iter().filter(|v| !v.quantity.holds(v.value)).count();
        if list.len() == out_of_range || (out_of_range > 0 && !values.apart) {
            return match values.refused.first() {
                _ if out_of_range > 0 => Err(Refusal::Range),
                Some(&why) => Err(why),
                None if values.told.is_some() => {
                    self.tell(values.told);
                    Ok(())
                }
                None => Err(Refusal::Empty),
            };
        }
        for &why in &values.refused {
            self.ledger.value_refused(kind, why, self.line);
        }
        self.tell(values.told);
        let at = self.clock.at();
        let before = self.ledger.values;
        for value in list {
            if out_of_range > 0 && !value.quantity.holds(value.value) {
                self.ledger.value_refused(kind, Refusal::Range, self.line);
                continue;
            }
            let id = self.channels.id(source, value.quantity, value.reference, value.instance);
            let Some(channel) = id else {
                self.ledger.value_refused(kind, Refusal::TooMany, self.line);
                continue;
            };
            self.out(Sample { channel, quantity: value.quantity, at, value: value.value, offset }, sink);
            let what = (value.quantity, value.reference);
            let record = self.ledger.records;
            if heard_by_computer(value.quantity) && self.computer.hear(source, what, value.value, at, record)
            {
                self.compute(at, offset, sink);
            }
        }
        self.clock.count(at, self.ledger.values - before);
        Ok(())
    }

    #[inline]
    fn tell(&mut self, told: Option<Told>) {
        match told {
            None => {}
            Some(Told::Dated(day, time_of_day)) => self.clock.dated(day, time_of_day, self.line),
            Some(Told::TimeOfDay(time_of_day)) => self.clock.time_of_day(time_of_day, self.line),
        }
    }

    #[inline]
    fn out(&mut self, sample: Sample, sink: &mut impl Sink) {
        self.ledger.values += 1;
        if sample.channel.index() >= self.announced {
            self.announce(sink);
        }
        sink.sample(sample);
    }

    #[cold]
    fn announce(&mut self, sink: &mut impl Sink) {
        for (index, channel) in self.channels.list().iter().enumerate().skip(self.announced) {
            sink.channel(ChannelId(index as u16), channel);
        }
        self.announced = self.channels.list().len();
    }

    #[inline(never)]
    fn compute(&mut self, at: Option<Instant>, offset: u64, sink: &mut impl Sink) {
        for (quantity, reference, value) in self.computer.compute().into_iter().flatten().flatten() {
            if let Some(channel) = Computer::channel(&mut self.channels, quantity, reference) {
                self.out(Sample { channel, quantity, at, value, offset }, sink);
            }
        }
    }

    pub(super) fn close(mut self, kind: Kind) -> Parsed {
        let account: Account = self.ledger.close(self.line);
        self.notices.extend(self.clock.report.notices());
        Parsed {
            kind,
            channels: self.channels.into_list(),
            account,
            clock: self.clock.report,
            tracks: Vec::new(),
            notices: self.notices,
        }
    }
}

#[inline]
fn heard_by_computer(quantity: Quantity) -> bool {
    matches!(
        quantity,
        Quantity::ApparentWindAngle
            | Quantity::ApparentWindSpeed
            | Quantity::BoatSpeed
            | Quantity::Heading
            | Quantity::MagneticVariation
    )
}

//! GPX 1.0 and 1.1: the points of tracks.
//!
//! ```text
//! <gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1"><trk><name>To the islands</name><trkseg>
//!   <trkpt lat="52.850155" lon="5.313617"><time>2026-05-09T10:11:12Z</time></trkpt> …
//! ```
//!
//! `speed` (m/s) and `course` (true) stand in a point in 1.0, and in its extensions in 1.1; both are read. A byte-order
//! mark, a missing namespace, points without a time, empty segments and unknown `fix` values are no trouble. Entities
//! other than XML's own five are never looked up: a point that uses one is refused. Routes and waypoints were not
//! sailed and are left out. Source: the GPX 1.1 schema as kept in tkrajina/gpxpy `xsd/gpx1.1.txt`.

use std::io::BufRead;

use geographiclib_rs::{Geodesic, InverseGeodesic};
use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};

use super::account::{Kindred, Refusal};
use super::limited::Limited;
use super::log::{Log, Sink, Values};
use super::quantity::{KN_PER_M_S, Quantity, Reference};
use super::{Kind, Parsed, stamp};
use crate::Hints;

/// Elements within elements; a point's extensions are some seven deep.
const DEPTH_MAX: usize = 64;
/// Tracks that are summed up; what comes after is read all the same.
const TRACKS_MAX: usize = 1000;
/// Bytes that a name, a time or a number may have.
const TEXT_MAX: usize = 200;

/// One track, summed up.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Track {
    /// Its name, where it has one.
    pub name: String,
    /// Points that were used.
    pub points: u64,
    /// Segments, empty ones too.
    pub segments: u64,
    /// Length within its segments, in nautical miles.
    pub length_nmi: f64,
    /// Time of the earliest point, microseconds UTC.
    pub first: Option<i64>,
    /// Time of the latest.
    pub last: Option<i64>,
}

/// The place where text belongs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Field {
    Time,
    Elevation,
    Speed,
    Course,
    Name,
}

#[derive(Debug, Default)]
struct Point {
    offset: u64,
    depth: usize,
    latitude: Option<f64>,
    longitude: Option<f64>,
    time: Option<stamp::Stamp>,
    elevation: Option<f64>,
    speed: Option<f64>,
    course: Option<f64>,
    wrong: Option<Refusal>,
}

struct Gpx<'a, S> {
    log: Log,
    values: Values,
    sink: &'a mut S,
    depth: usize,
    track_depth: Option<usize>,
    point: Option<Point>,
    field: Option<Field>,
    text: String,
    tracks: Vec<Track>,
    before: Option<(f64, f64)>,
}

/// Reads a track file.
pub(super) fn read(source: impl BufRead, hints: &Hints, sink: &mut impl Sink) -> Parsed {
    let mut reader = Reader::from_reader(Limited::new(source));
    let mut gpx = Gpx {
        log: Log::new(hints),
        values: Values::new(),
        sink,
        depth: 0,
        track_depth: None,
        point: None,
        field: None,
        text: String::new(),
        tracks: Vec::new(),
        before: None,
    };
    let mut buffer = Vec::new();
    loop {
        buffer.clear();
        reader.get_mut().mark();
        let offset = reader.buffer_position();
        let event = reader.read_event_into(&mut buffer);
        gpx.log.line = 1 + reader.get_ref().breaks;
        match event {
            Ok(Event::Eof) => {
                if gpx.depth > 0 {
                    gpx.end_early(Refusal::Truncated);
                }
                break;
            }
            Ok(event) => {
                if !gpx.event(&event, offset) {
                    break;
                }
            }
            Err(error) => {
                let why = match error {
                    _ if reader.get_ref().too_long => Refusal::TooLong,
                    quick_xml::Error::Syntax(_) => Refusal::Truncated,
                    _ => Refusal::Malformed,
                };
                gpx.end_early(why);
                break;
            }
        }
    }
    let mut parsed = gpx.log.close(Kind::Gpx);
    parsed.tracks = gpx.tracks;
    parsed
}

impl<S: Sink> Gpx<'_, S> {
    /// Takes an event in; false where reading must end.
    fn event(&mut self, event: &Event, offset: u64) -> bool {
        match event {
            Event::Start(element) => {
                self.depth += 1;
                if self.depth > DEPTH_MAX {
                    self.end_early(Refusal::TooDeep);
                    return false;
                }
                self.start(element, offset);
            }
            Event::Empty(element) => {
                self.depth += 1;
                self.start(element, offset);
                self.end();
                self.depth -= 1;
            }
            Event::End(_) => {
                self.end();
                self.depth = self.depth.saturating_sub(1);
            }
            Event::Text(text) => self.take_text(text),
            Event::CData(text) => self.take_text(text),
            Event::GeneralRef(reference) => {
                let name: &str = reference;
                let character = match name {
                    "amp" => Some('&'),
                    "lt" => Some('<'),
                    "gt" => Some('>'),
                    "quot" => Some('"'),
                    "apos" => Some('\''),
                    _ => reference.resolve_char_ref().ok().flatten(),
                };
                match (character, &mut self.point) {
                    (Some(character), _) if self.field.is_some() => self.text.push(character),
                    (None, Some(point)) => point.wrong = Some(Refusal::Entity),
                    _ => {}
                }
            }
            _ => {}
        }
        true
    }

    fn take_text(&mut self, text: &str) {
        if self.field.is_some() && self.text.len() + text.len() <= TEXT_MAX {
            self.text.push_str(text);
        }
    }

    fn start(&mut self, element: &BytesStart, offset: u64) {
        let name = element.local_name();
        let name: &str = name.as_ref();
        self.field = None;
        self.text.clear();
        match (name, &self.point) {
            ("trk", None) => {
                self.track_depth = Some(self.depth);
                self.tracks.truncate(TRACKS_MAX);
                self.tracks.push(Track::default());
            }
            ("trkseg", None) => {
                self.before = None;
                if let Some(track) = self.tracks.last_mut() {
                    track.segments += 1;
                }
            }
            ("trkpt", None) => self.point = Some(self.begin_point(element, offset)),
            ("name", None) if self.track_depth.is_some_and(|depth| self.depth == depth + 1) => {
                self.field = Some(Field::Name);
            }
            ("wpt" | "rtept", None) => self.log.ledger.ignored(Kindred::new(name.as_bytes())),
            ("time", Some(_)) => self.field = Some(Field::Time),
            ("ele", Some(_)) => self.field = Some(Field::Elevation),
            ("speed", Some(_)) => self.field = Some(Field::Speed),
            ("course", Some(_)) => self.field = Some(Field::Course),
            _ => {}
        }
    }

    fn begin_point(&self, element: &BytesStart, offset: u64) -> Point {
        let mut point = Point { offset, depth: self.depth, ..Point::default() };
        for attribute in element.attributes() {
            let Ok(attribute) = attribute else {
                point.wrong = Some(Refusal::Malformed);
                break;
            };
            let key: &str = attribute.key.as_ref();
            let place = match key {
                "lat" => &mut point.latitude,
                "lon" => &mut point.longitude,
                _ => continue,
            };
            let value: &str = &attribute.value;
            if value.contains('&') {
                point.wrong = Some(Refusal::Entity);
            }
            *place = value.trim().parse().ok();
        }
        point
    }

    fn end(&mut self) {
        if let Some(field) = self.field.take() {
            let text = self.text.trim();
            match (field, &mut self.point) {
                (Field::Name, _) => {
                    if let Some(track) = self.tracks.last_mut() {
                        track.name = text.to_owned();
                    }
                }
                (Field::Time, Some(point)) => match stamp::read(text.as_bytes()) {
                    Some(time) => point.time = Some(time),
                    None if text.is_empty() => {}
                    None => point.wrong = Some(Refusal::Malformed),
                },
                (Field::Elevation, Some(point)) => point.elevation = text.parse().ok(),
                (Field::Speed, Some(point)) => point.speed = text.parse().ok(),
                (Field::Course, Some(point)) => point.course = text.parse().ok(),
                (_, None) => {}
            }
        }
        if self.point.as_ref().is_some_and(|point| point.depth == self.depth)
            && let Some(point) = self.point.take()
        {
            self.give(&point);
        }
        if self.track_depth == Some(self.depth) {
            self.track_depth = None;
            self.before = None;
        }
    }

    fn give(&mut self, point: &Point) {
        let kind = Kindred::new(b"trkpt");
        let (Some(latitude), Some(longitude), None) = (point.latitude, point.longitude, point.wrong) else {
            let why = point.wrong.unwrap_or(Refusal::Malformed);
            return self.log.ledger.refused(kind, why, self.log.line);
        };
        self.log.clock.begin();
        if let Some(time) = point.time {
            self.log.clock.stamp(time, self.log.line);
        }
        self.values.clear();
        self.values.put(Quantity::Latitude, Reference::Unsaid, latitude);
        self.values.put(Quantity::Longitude, Reference::Unsaid, longitude);
        if let Some(elevation) = point.elevation {
            self.values.put(Quantity::Altitude, Reference::Unsaid, elevation);
        }
        if let Some(speed) = point.speed {
            self.values.put(Quantity::SpeedOverGround, Reference::Ground, speed * KN_PER_M_S);
        }
        if let Some(course) = point.course {
            self.values.put(Quantity::CourseOverGround, Reference::True, course);
        }
        let Some(source) = self.log.channels.source("gpx") else {
            return self.log.ledger.refused(kind, Refusal::TooMany, self.log.line);
        };
        match self.log.take(kind, source, &self.values, point.offset, self.sink) {
            Err(why) => self.log.ledger.refused(kind, why, self.log.line),
            Ok(()) => {
                self.log.ledger.used(kind);
                self.sum_up(point, latitude, longitude);
            }
        }
    }

    fn sum_up(&mut self, point: &Point, latitude: f64, longitude: f64) {
        let at = point.time.and(self.log.clock.at()).map(|at| at.micros);
        if let Some(track) = self.tracks.last_mut() {
            track.points += 1;
            if let Some(before) = self.before {
                track.length_nmi += leg_m(before, (latitude, longitude)) / 1852.0;
            }
            if let Some(at) = at {
                track.first = Some(track.first.map_or(at, |first| first.min(at)));
                track.last = Some(track.last.map_or(at, |last| last.max(at)));
            }
        }
        self.before = Some((latitude, longitude));
    }

    /// Reading ends before the file does: says so once, for the point under way or for the file.
    fn end_early(&mut self, why: Refusal) {
        let kind = if self.point.take().is_some() { Kindred::new(b"trkpt") } else { Kindred::NONE };
        self.log.ledger.refused(kind, why, self.log.line);
    }
}

/// Length of a leg: the geodesic on the WGS 84 ellipsoid, in metres. Points in degrees, latitude first.
fn leg_m(from: (f64, f64), to: (f64, f64)) -> f64 {
    Geodesic::wgs84().inverse(from.0, from.1, to.0, to.1)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::instrument::{Sample, parse};

    fn read(file: impl AsRef<[u8]>) -> (Parsed, Vec<Sample>) {
        let mut samples = Vec::new();
        let parsed = parse(Kind::Gpx, file.as_ref(), &Hints::default(), &mut |sample| samples.push(sample));
        assert!(parsed.account.adds_up(), "{:?}", parsed.account);
        (parsed, samples)
    }

    const TWO_TRACKS: &str = r#"<?xml version="1.0" encoding="UTF-8"?>
<gpx version="1.1" creator="a plotter" xmlns="http://www.topografix.com/GPX/1/1">
  <metadata><name>not a track</name><time>2020-01-01T00:00:00Z</time></metadata>
  <wpt lat="1" lon="2"><name>buoy</name></wpt>
  <trk><name>Out &amp; <![CDATA[back]]></name>
    <trkseg>
      <trkpt lat="60.155" lon="-1.145"><ele>2.5</ele><time>2026-05-09T10:00:00Z</time><fix>starlight</fix></trkpt>
      <trkpt lat="60.160" lon="-1.145"><time>2026-05-09T11:01:00+01:00</time>
        <extensions><x:TrackPointExtension><x:speed>2.5</x:speed><x:course>359</x:course></x:TrackPointExtension></extensions>
      </trkpt>
    </trkseg>
    <trkseg/>
    <trkseg><trkpt lat="60.2" lon="-1.2"/></trkseg>
  </trk>
  <trk><trkseg></trkseg></trk>
</gpx>"#;

    #[test]
    fn tracks() {
        let (parsed, samples) = read(TWO_TRACKS);
        assert_eq!(parsed.account.used["trkpt"], 3);
        assert_eq!(parsed.account.ignored["wpt"], 1);
        assert!(parsed.account.refused.is_empty());
        assert_eq!(samples.len(), 9);
        let speed = samples.iter().find(|s| s.quantity == Quantity::SpeedOverGround).expect("a speed");
        assert!((speed.value - 4.8596).abs() < 1e-4);
        assert_eq!(&TWO_TRACKS[samples[0].offset as usize..][..6], "<trkpt");
        let [track, empty] = parsed.tracks.as_slice() else { panic!("{:?}", parsed.tracks) };
        assert_eq!((track.name.as_str(), track.points, track.segments), ("Out & back", 3, 3));
        assert_eq!(track.last.zip(track.first).map(|(last, first)| last - first), Some(60_000_000));
        // 0.005° of latitude at 60°: 557.0 m (111,414 m a degree there by the series of the ellipsoid).
        assert!((track.length_nmi * 1852.0 - 557.07).abs() < 0.3, "{}", track.length_nmi * 1852.0);
        assert_eq!((empty.points, empty.segments, empty.length_nmi), (0, 1, 0.0));
    }

    /// Geodesics by geographiclib 2.1: one degree along the equator, one degree north of it, across the date line.
    #[test]
    fn lengths_agree_with_the_geodesic() {
        for (from, to, metres) in [
            ((0.0, 0.0), (0.0, 1.0), 111_319.491),
            ((0.0, 0.0), (1.0, 0.0), 110_574.389),
            ((60.0, 179.5), (60.0, -179.5), 55_799.470),
        ] {
            let found = leg_m(from, to);
            assert!((found / metres - 1.0).abs() < 1e-8, "{from:?} {to:?}: {found}");
        }
    }

    /// Points, length and time of public tracks: those that come with gpxpy 1.6.2 (`test_files`), as gpxpy itself tells them,
    /// whose lengths are reckoned on a plane, leg by leg. `tests/run` fetches them and names their folder.
    #[test]
    fn public_tracks() {
        let Some(folder) = std::env::var_os("LEADSMAN_TEST_TRACKS").map(std::path::PathBuf::from) else {
            println!("skipped: tests/run fetches the tracks");
            return;
        };
        for (name, points, tracks, metres, seconds) in [
            ("around-visnjan-with-car.gpx", 104, 1, 2736.3, Some(514.0)),
            ("cerknicko-jezero.gpx", 296, 8, 4580.1, Some(4239.0)),
            ("korita-zbevnica.gpx", 871, 4, 14_913.7, None),
        ] {
            let (parsed, _) = read(std::fs::read(folder.join(name)).expect("a track"));
            let sum = |of: fn(&Track) -> f64| parsed.tracks.iter().map(of).sum::<f64>();
            assert_eq!(parsed.tracks.len(), tracks, "{name}");
            assert_eq!(parsed.tracks.iter().map(|track| track.points).sum::<u64>(), points, "{name}");
            let found = sum(|track| track.length_nmi) * 1852.0;
            assert!((found / metres - 1.0).abs() < 0.005, "{name}: {found} m, gpxpy has {metres} m");
            // Some points of the last have a time and some none, so that gpxpy tells no duration.
            let Some(seconds) = seconds else { continue };
            let found = sum(|track| {
                track.last.zip(track.first).map_or(0.0, |(last, first)| (last - first) as f64 / 1e6)
            });
            assert!((found - seconds).abs() <= 0.005 * seconds, "{name}: {found} s, gpxpy has {seconds} s");
        }
    }

    #[test]
    fn version_1_0_without_a_namespace_with_a_byte_order_mark() {
        let (parsed, samples) = read(
            "\u{feff}<gpx version='1.0'><trk><trkseg><trkpt lat='52.85' lon='5.31'>\
             <course>230.5</course><speed>2.88</speed><time></time></trkpt></trkseg></trk></gpx>",
        );
        assert_eq!(samples.len(), 4);
        assert!(samples.iter().all(|s| s.at.is_none()));
        assert_eq!(parsed.clock.timeless, 4);
    }

    #[test]
    fn points_that_are_none() {
        let (parsed, samples) = read(
            "<gpx><trk><trkseg><trkpt lat='91' lon='5'/>\n<trkpt lat='5' lon='x'/>\n<trkpt lon='5'/>\n\
             <trkpt lat='1' lon='1'><time>yesterday</time></trkpt>\n<trkpt lat='1' lat='2' lon='1'/></trkseg></trk></gpx>",
        );
        assert!(samples.is_empty());
        let reasons: Vec<_> = parsed.account.refused.iter().map(|r| (r.reason, r.lines.clone())).collect();
        assert_eq!(reasons, [(Refusal::Malformed, vec![2, 3, 4]), (Refusal::Range, vec![1])]);
    }

    #[test]
    fn cut_off() {
        let cut = TWO_TRACKS.find("</trkpt>").expect("a point") + 30;
        let (parsed, samples) = read(&TWO_TRACKS[..cut]);
        assert_eq!(parsed.account.used["trkpt"], 1);
        assert_eq!(samples.len(), 3);
        assert_eq!(parsed.account.refused_count(), 1);
        for cut in 0..TWO_TRACKS.len() {
            read(&TWO_TRACKS[..cut]);
        }
    }

    #[test]
    fn entities_are_not_looked_up() {
        let (parsed, samples) = read(
            r#"<!DOCTYPE gpx [<!ENTITY a "2026-05-09T10:00:00Z"><!ENTITY b SYSTEM "file:///etc/hostname">]>
            <gpx><trk><trkseg><trkpt lat="1" lon="2"><time>&a;</time></trkpt><trkpt lat="1" lon="2"><time>&b;</time></trkpt>
            <trkpt lat="&a;" lon="2"/><trkpt lat="1" lon="2"/></trkseg></trk></gpx>"#,
        );
        assert_eq!(parsed.account.refused_for(Refusal::Entity), 3);
        assert_eq!(samples.len(), 2);
        // Entities of entities, as they are used to blow readers up.
        let bomb = format!(
            "<!DOCTYPE x [<!ENTITY a \"{}\"><!ENTITY b \"{}\">]><gpx><trk><name>{}</name></trk></gpx>",
            "ha".repeat(1000),
            "&a;".repeat(1000),
            "&b;".repeat(1000)
        );
        let (parsed, _) = read(bomb);
        assert_eq!(parsed.tracks[0].name, "");
    }

    #[test]
    fn depth_and_length_are_bounded() {
        let (parsed, _) = read(format!("<gpx>{}", "<a>".repeat(1_000_000)));
        assert_eq!(parsed.account.refused_for(Refusal::TooDeep), 1);
        for endless in ["<gpx><trk><name>", "<gpx><!-- ", "<gpx a='", "<gpx><![CDATA["] {
            let file = format!("{endless}{}", "x".repeat(8 << 20));
            let (parsed, _) = read(file);
            assert_eq!(parsed.account.refused_for(Refusal::TooLong), 1, "{endless} {:?}", parsed.account);
        }
    }

    proptest! {
        #[test]
        fn never_panics(file in "(<gpx>|<trk>|</trk>|<trkseg>|</trkseg>|<trkpt lat='1' lon='2'>|</trkpt>|<time>|</time>|2026-05-09T10:11:12Z|&amp;|&x;|&#65;|\\PC{0,5}){0,40}") {
            read(file);
        }

        #[test]
        fn never_panics_on_bytes(bytes in proptest::collection::vec(any::<u8>(), 0..300)) {
            read([b"<gpx>", bytes.as_slice()].concat());
        }
    }
}

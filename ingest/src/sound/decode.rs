//! A recording's sound, a piece at a time.

use std::sync::OnceLock;

use symphonia::core::audio::Channels;
use symphonia::core::codecs::CodecParameters;
use symphonia::core::codecs::audio::{AudioCodecParameters, AudioDecoder, AudioDecoderOptions};
use symphonia::core::codecs::registry::CodecRegistry;
use symphonia::core::errors::Error;
use symphonia::core::formats::probe::Hint;
use symphonia::core::formats::{FormatOptions, FormatReader, Track, TrackType};
use symphonia::core::io::{MediaSource, MediaSourceStream};
use symphonia::core::meta::MetadataOptions;
use symphonia::core::units::{TimeBase, Timestamp};

use super::began::{self, Began};
use super::opus::Opus;
use super::resample::Resample;

/// Why a recording cannot be listened to.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Unheard {
    /// The container does not open.
    #[error("expected a recording, found one that does not open ({0})")]
    Container(String),
    /// There is no sound in it.
    #[error("expected a sound track, found none: a picture without sound")]
    NoSound,
    /// Its sound is kept in a way that is not known here.
    #[error("expected sound in a codec that is known here, found {0}")]
    Codec(String),
}

impl Unheard {
    /// What to do.
    pub fn hint(&self) -> Option<&'static str> {
        match self {
            Unheard::Container(_) => Some("see whether the file was copied whole, and dump it again"),
            Unheard::NoSound => None,
            Unheard::Codec(_) => Some("save it as WAV, FLAC, MP3, M4A or Ogg, and dump that"),
        }
    }
}

/// Silence that is put in where a track leaves time out: no more than this at once, in seconds.
const LONGEST_GAP: f64 = 600.0;
/// Time left out, in seconds, that is worth being put in.
const GAP: f64 = 0.1;
/// Packets that cannot be decoded, one behind the other, before the rest is given up.
const MOST_BROKEN: usize = 1_000;

/// A recording that is being decoded: samples at [`super::RATE`], all channels as one.
pub struct Sound {
    format: Box<dyn FormatReader>,
    decoder: Box<dyn AudioDecoder>,
    track: u32,
    base: Option<TimeBase>,
    start: Timestamp,
    codec: String,
    seconds: Option<f64>,
    began: Option<Began>,
    resample: Option<Resample>,
    interleaved: Vec<f32>,
    mono: Vec<f32>,
    /// Seconds decoded, gaps included.
    done: f64,
    broken: usize,
    cut_short: bool,
    over: bool,
}

impl std::fmt::Debug for Sound {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Sound").field("codec", &self.codec).field("done", &self.done).finish_non_exhaustive()
    }
}

fn codecs() -> &'static CodecRegistry {
    static CODECS: OnceLock<CodecRegistry> = OnceLock::new();
    CODECS.get_or_init(|| {
        let mut codecs = CodecRegistry::new();
        symphonia::default::register_enabled_codecs(&mut codecs);
        codecs.register_audio_decoder::<Opus>();
        codecs
    })
}

/// What a codec that cannot be decoded is called, and with how many channels it comes.
fn named(params: &AudioCodecParameters) -> String {
    let known = codecs().get_audio_decoder(params.codec);
    let name = known.map_or_else(
        || format!("one of number {}", params.codec),
        |known| known.codec.info.short_name.to_owned(),
    );
    match params.channels.as_ref().map(Channels::count) {
        Some(channels) if known.is_some() => format!("{name} with {channels} channels"),
        _ => name,
    }
}

/// The sound of a recording: its default track, of a codec that can be decoded.
fn sound_track(format: &dyn FormatReader) -> Result<&Track, Unheard> {
    let audio = |track: &&Track| matches!(track.codec_params, Some(CodecParameters::Audio(_)));
    format
        .default_track(TrackType::Audio)
        .filter(audio)
        .or_else(|| format.tracks().iter().find(audio))
        .ok_or(Unheard::NoSound)
}

impl Sound {
    /// Opens a recording. Its sound is decoded by [`Sound::more`].
    pub fn open(mut source: Box<dyn MediaSource>) -> Result<Self, Unheard> {
        let began = if source.is_seekable() { began::in_container(&mut source) } else { None };
        let stream = MediaSourceStream::new(source, Default::default());
        let options = (FormatOptions::default(), MetadataOptions::default());
        let mut format = symphonia::default::get_probe()
            .probe(&Hint::new(), stream, options.0, options.1)
            .map_err(|error| Unheard::Container(error.to_string()))?;
        let began = began.or_else(|| began::in_tags(format.as_mut()));
        let track = sound_track(format.as_ref())?;
        let Some(CodecParameters::Audio(params)) = &track.codec_params else { return Err(Unheard::NoSound) };
        let decoder = codecs()
            .make_audio_decoder(params, &AudioDecoderOptions::default())
            .map_err(|_| Unheard::Codec(named(params)))?;
        let codec = decoder.codec_info().short_name.to_owned();
        let length =
            track.time_base.zip(track.duration).and_then(|(base, length)| base.calc_duration(length));
        let frames =
            track.num_frames.zip(params.sample_rate).map(|(frames, rate)| frames as f64 / f64::from(rate));
        let (id, base, start) = (track.id, track.time_base, track.start_ts);
        Ok(Self {
            decoder,
            track: id,
            base,
            start,
            codec,
            seconds: length.map(|length| length.as_secs_f64()).or(frames),
            began,
            format,
            resample: None,
            interleaved: Vec::new(),
            mono: Vec::new(),
            done: 0.0,
            broken: 0,
            cut_short: false,
            over: false,
        })
    }

    /// Short name of the codec: `aac`, `opus`, `pcm_s16le`.
    pub fn codec(&self) -> &str {
        &self.codec
    }

    /// Its length in seconds, where the container says it.
    pub fn seconds(&self) -> Option<f64> {
        self.seconds
    }

    /// When it began, where the container says it.
    pub fn began(&self) -> Option<Began> {
        self.began
    }

    /// Whether the file ended in the middle of its sound, once all of it was decoded.
    pub fn is_cut_short(&self) -> bool {
        self.cut_short || self.seconds.is_some_and(|said| said - self.done > 1.0 + said * 0.01)
    }

    /// Stretches, mostly of hundredths of a second, that could not be decoded.
    pub fn broken(&self) -> usize {
        self.broken
    }

    /// Seconds decoded so far.
    pub fn done(&self) -> f64 {
        self.done
    }

    /// Decodes some more and appends it. `false`: there is no more.
    pub fn more(&mut self, into: &mut Vec<f32>) -> bool {
        let mut in_a_row = 0;
        while !self.over {
            let packet = match self.format.next_packet() {
                Ok(Some(packet)) => packet,
                Ok(None) => break,
                // Other tracks may begin anew; the sound has ended.
                Err(Error::ResetRequired) => break,
                Err(_) => {
                    self.cut_short = true;
                    break;
                }
            };
            if packet.track_id != self.track {
                continue;
            }
            let at = self.base.and_then(|base| {
                let since = packet.pts.checked_delta(self.start).filter(|delta| delta.get() >= 0)?;
                base.calc_time(Timestamp::new(since.get())).map(|time| time.as_secs_f64())
            });
            let rate = match self.decoder.decode(&packet) {
                Ok(decoded) => {
                    let (rate, channels) = (decoded.spec().rate(), decoded.spec().channels().count().max(1));
                    decoded.copy_to_vec_interleaved(&mut self.interleaved);
                    self.mono.clear();
                    let share = 1.0 / channels as f32;
                    let one = |frame: &[f32]| frame.iter().sum::<f32>() * share;
                    self.mono.extend(self.interleaved.chunks_exact(channels).map(one));
                    rate
                }
                Err(Error::DecodeError(_) | Error::Unsupported(_)) => {
                    self.broken += 1;
                    in_a_row += 1;
                    if in_a_row >= MOST_BROKEN {
                        break;
                    }
                    continue;
                }
                Err(_) => {
                    self.cut_short = true;
                    break;
                }
            };
            self.emit(rate, at, into);
            return true;
        }
        if !self.over {
            self.over = true;
            let before = into.len();
            if let Some(resample) = &mut self.resample {
                resample.finish(into);
            }
            return into.len() > before;
        }
        false
    }

    fn emit(&mut self, rate: u32, at: Option<f64>, into: &mut Vec<f32>) {
        if self.resample.as_ref().is_none_or(|resample| resample.rate() != rate) {
            if let Some(before) = &mut self.resample {
                before.finish(into);
            }
            self.resample = Resample::new(rate);
        }
        let Some(resample) = &mut self.resample else {
            self.broken += 1;
            return;
        };
        // A recorder may leave out silence; the places of what follows must stay true.
        let gap = at.map_or(0.0, |at| at - self.done);
        if gap > GAP && gap < LONGEST_GAP {
            let silence = vec![0.0; (gap * f64::from(rate)) as usize];
            resample.take(&silence, into);
            self.done += silence.len() as f64 / f64::from(rate);
        }
        resample.take(&self.mono, into);
        self.done += self.mono.len() as f64 / f64::from(rate);
    }
}

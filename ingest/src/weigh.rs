//! Weighing signs: a sum of weights that decides, where each sign has a name and its weight stands in a file that a person
//! can read.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use serde::Deserialize;

/// A weight for each of `N` signs.
#[derive(Clone, Debug, PartialEq)]
pub struct Weights<const N: usize> {
    constant: f32,
    /// The least sum that decides.
    pub least: f32,
    /// The least sum that leaves it open, where the file names one.
    pub perhaps: f32,
    weights: [f32; N],
    /// What each of some names adds, as that of the gear that is weighed.
    of: BTreeMap<String, f32>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    constant: f32,
    least: f32,
    perhaps: Option<f32>,
    weights: BTreeMap<String, f32>,
    #[serde(default)]
    of: BTreeMap<String, f32>,
}

impl<const N: usize> Weights<N> {
    /// Weights by which nothing is decided.
    pub fn none() -> Self {
        Self::from(f32::INFINITY)
    }

    /// Weights by which everything is.
    pub fn all() -> Self {
        Self::from(f32::NEG_INFINITY)
    }

    fn from(least: f32) -> Self {
        Self { constant: 0.0, least, perhaps: least, weights: [0.0; N], of: BTreeMap::new() }
    }

    /// Reads a file of weights of signs with these names; a sign that it leaves out has none. The error says what is wrong
    /// with it.
    pub fn read(text: &str, names: &[String]) -> Result<Self, String> {
        let file: File = toml::from_str(text).map_err(|e| e.to_string())?;
        let mut weights = [0.0; N];
        for (name, weight) in file.weights {
            let place = names.iter().position(|n| *n == name).filter(|&place| place < N);
            weights[place.ok_or_else(|| format!("expected a sign's name, found {name:?}"))?] = weight;
        }
        let perhaps = file.perhaps.unwrap_or(file.least);
        Ok(Self { constant: file.constant, least: file.least, perhaps, weights, of: file.of })
    }

    /// The sum for some signs of something that goes by some names; a name that the file does not have adds nothing.
    pub fn sum_of(&self, signs: &[f32; N], names: &[String]) -> f32 {
        self.sum(signs) + names.iter().filter_map(|name| self.of.get(name)).sum::<f32>()
    }

    /// The sum for some signs.
    pub fn sum(&self, signs: &[f32; N]) -> f32 {
        self.constant + self.weights.iter().zip(signs).map(|(w, s)| w * s).sum::<f32>()
    }
}

/// Weights in use: those of a file that is built in, where a program that compares or trains them gave no others.
#[derive(Debug)]
pub struct InUse<const N: usize> {
    weights: OnceLock<Weights<N>>,
    file: &'static str,
    names: fn() -> Vec<String>,
}

impl<const N: usize> InUse<N> {
    /// Those of a file, read when first asked for; a test beside it reads it too.
    pub const fn new(file: &'static str, names: fn() -> Vec<String>) -> Self {
        Self { weights: OnceLock::new(), file, names }
    }

    /// Takes others in their place. Only a call before anything was weighed has an effect; it says whether it had.
    pub fn replace(&self, weights: Weights<N>) -> bool {
        self.weights.set(weights).is_ok()
    }

    /// The weights.
    pub fn get(&self) -> &Weights<N> {
        self.weights.get_or_init(|| {
            Weights::read(self.file, &(self.names)())
                .expect("each file that is built in is checked by a test")
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn signs_add_up_and_unknown_ones_are_told() {
        let names = ["near", "far"].map(str::to_owned);
        let file = "constant = 0.5\nleast = 1.0\n[weights]\nfar = -2.0\n[of]\nwindlass = 0.25\n";
        let weights = Weights::<2>::read(file, &names).expect("a file of weights");
        assert_eq!((weights.sum(&[1.0, 0.25]), weights.perhaps), (0.0, 1.0));
        let of = |name: &str| weights.sum_of(&[1.0, 0.25], &[name.to_owned()]);
        assert_eq!((of("windlass"), of("radar")), (0.25, 0.0));
        let wrong = Weights::<2>::read(&file.replace("far", "headroom"), &names);
        assert_eq!(wrong, Err("expected a sign's name, found \"headroom\"".to_owned()));
    }
}

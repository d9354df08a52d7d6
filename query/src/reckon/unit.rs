//! Units: a type for each kind of quantity, so that a speed cannot be passed as an angle.
//!
//! Each type keeps one number in the base unit named in its definition. Factors are exact where the unit is defined
//! exactly: NIST SP 811 (2008), appendix B.8 (from memory; the factors were compared with UCUM essence 2.2, read).
//! A quantity is written as a number with a unit; a number alone is in the canonical unit. A unit that is not listed here
//! is looked up among those that notes are read with, a bare gallon being the US one.

use std::fmt;
use std::str::FromStr;

use leadsman_ingest::Utterance;
use leadsman_ingest::quantity::{UnitAt, convert, unit_at};
use leadsman_ingest::talk::Talk;
use serde::{Serialize, Serializer};

/// What all the quantities have in common, for ranges and for showing them.
pub trait Quantity: Copy + fmt::Display {
    /// What it is, with its article: "a speed".
    const WHAT: &'static str;
    /// The canonical unit, in which it is shown and ranges are written.
    const UNIT: &'static str;
    /// The number in the canonical unit.
    fn canonical(self) -> f64;
}

/// A text that is no such quantity.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("expected {what} in {units} (a number alone is in {unit}), found \"{found}\"")]
pub struct UnitError {
    /// What was expected, with its article.
    pub what: &'static str,
    /// The units that it may be given in.
    pub units: String,
    /// The canonical unit.
    pub unit: &'static str,
    /// The text that was found.
    pub found: String,
}

/// Parts a text into a finite number and the unit after it; the unit may be empty.
///
/// Shape: `-5.5 degC`, `20kn`, `1e3`. A Unicode minus is a minus.
pub fn split(text: &str) -> Option<(f64, String)> {
    let text = text.trim().replace('\u{2212}', "-");
    let end = text
        .char_indices()
        .find(|&(at, c)| {
            let exponent = |rest: &str| {
                let rest = rest.strip_prefix(['+', '-']).unwrap_or(rest);
                rest.starts_with(|c: char| c.is_ascii_digit())
            };
            !(c.is_ascii_digit()
                || c == '.'
                || (c == '+' || c == '-') && (at == 0 || text[..at].ends_with(['e', 'E']))
                || (c == 'e' || c == 'E') && at > 0 && exponent(&text[at + 1..]))
        })
        .map_or(text.len(), |(at, _)| at);
    let number: f64 = text[..end].parse().ok()?;
    number.is_finite().then(|| (number, text[end..].trim().to_string()))
}

/// A number in a unit as notes name it ("gal", "nautical miles", "ft"), in a canonical unit; `None` where no note would
/// say so, or it measures something else.
pub fn of_notes(number: f64, unit: &str, canonical: &str) -> Option<f64> {
    let line = format!("1 {unit}");
    let utterances = [Utterance::line(&line)];
    let talk = Talk::new(&line, &utterances, &[]);
    // The unit begins behind the one.
    let whole = |found: &UnitAt| found.end == talk.tokens.len();
    let found = unit_at(&line, &talk.tokens, 1).filter(whole)?;
    convert(found.to_base(number, false), found.dimension(), canonical)
}

macro_rules! quantity {
    (
        $(#[$meta:meta])*
        $name:ident, $what:literal, $canonical:literal = $canonical_get:ident;
        $($(#[$unit_meta:meta])* $make:ident, $get:ident = $factor:expr, [$($symbol:literal),+];)+
    ) => {
        $(#[$meta])*
        #[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
        pub struct $name(f64);

        impl $name {
            $(
                $(#[$unit_meta])*
                pub const fn $make(value: f64) -> Self {
                    Self(value * $factor)
                }

                /// The number in that unit.
                pub const fn $get(self) -> f64 {
                    self.0 / $factor
                }
            )+

            /// The magnitude without its sign.
            pub fn abs(self) -> Self {
                Self(self.0.abs())
            }
        }

        impl Quantity for $name {
            const WHAT: &'static str = $what;
            const UNIT: &'static str = $canonical;
            fn canonical(self) -> f64 {
                self.$canonical_get()
            }
        }

        impl FromStr for $name {
            type Err = UnitError;
            fn from_str(text: &str) -> Result<Self, UnitError> {
                let bad = || UnitError {
                    what: $what,
                    units: [$([$($symbol),+][0]),+].join(", "),
                    unit: $canonical,
                    found: text.to_string(),
                };
                let (number, unit) = split(text).ok_or_else(bad)?;
                let unit = if unit.is_empty() { $canonical } else { unit.as_str() };
                $(
                    if [$($symbol),+].contains(&unit) {
                        return Ok(Self::$make(number));
                    }
                )+
                let number = of_notes(number, unit, $canonical).ok_or_else(bad)?;
                $(
                    if [$($symbol),+].contains(&$canonical) {
                        return Ok(Self::$make(number));
                    }
                )+
                Err(bad())
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, "{}{}", super::plain(self.canonical()), crate::figure::suffix($canonical))
            }
        }

        impl Serialize for $name {
            fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.serialize_f64(self.canonical())
            }
        }

        impl std::ops::Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self(self.0 + other.0)
            }
        }

        impl std::ops::Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self(self.0 - other.0)
            }
        }

        impl std::ops::Neg for $name {
            type Output = Self;
            fn neg(self) -> Self {
                Self(-self.0)
            }
        }

        impl std::ops::Mul<f64> for $name {
            type Output = Self;
            fn mul(self, factor: f64) -> Self {
                Self(self.0 * factor)
            }
        }

        impl std::ops::Div<f64> for $name {
            type Output = Self;
            fn div(self, factor: f64) -> Self {
                Self(self.0 / factor)
            }
        }

        impl std::ops::Div for $name {
            type Output = f64;
            fn div(self, other: Self) -> f64 {
                self.0 / other.0
            }
        }
    };
}

const NMI: f64 = 1852.0;
const FOOT: f64 = 0.3048;
const POUND: f64 = 0.453_592_37;
const GRAVITY: f64 = 9.806_65;

quantity! {
    /// A speed, through water, over ground or of the wind; base m/s.
    Speed, "a speed", "kn" = in_kn;
    /// Knots: nautical miles an hour.
    kn, in_kn = NMI / 3600.0, ["kn", "kt", "kts", "knots"];
    /// Metres a second.
    m_s, in_m_s = 1.0, ["m/s"];
    /// Kilometres an hour.
    km_h, in_km_h = 1.0 / 3.6, ["km/h"];
    /// Statute miles an hour.
    mph, in_mph = 0.447_04, ["mph"];
    /// Feet a second.
    ft_s, in_ft_s = FOOT, ["ft/s"];
}

quantity! {
    /// An angle or a bearing; base degree.
    Angle, "an angle", "deg" = in_deg;
    /// Degrees.
    deg, in_deg = 1.0, ["deg", "°"];
    /// Radians.
    rad, in_rad = 180.0 / std::f64::consts::PI, ["rad"];
}

quantity! {
    /// A length of gear, boat, rode or wave; base m.
    Length, "a length", "m" = in_m;
    /// Metres.
    m, in_m = 1.0, ["m"];
    /// Millimetres.
    mm, in_mm = 0.001, ["mm"];
    /// Centimetres.
    cm, in_cm = 0.01, ["cm"];
    /// Feet.
    ft, in_ft = FOOT, ["ft"];
    /// Inches.
    inch, in_inch = FOOT / 12.0, ["in"];
    /// Fathoms of six feet.
    fathom, in_fathom = FOOT * 6.0, ["fathom"];
}

quantity! {
    /// A distance sailed or to sail; base nmi.
    Distance, "a distance", "nmi" = in_nmi;
    /// Nautical miles of 1852 m.
    nmi, in_nmi = 1.0, ["nmi", "nm", "M"];
    /// Kilometres.
    km, in_km = 1000.0 / NMI, ["km"];
    /// Metres.
    m, in_m = 1.0 / NMI, ["m"];
    /// Statute miles.
    mile, in_mile = 1609.344 / NMI, ["mi"];
}

quantity! {
    /// An area; base m².
    Area, "an area", "m2" = in_m2;
    /// Square metres.
    m2, in_m2 = 1.0, ["m2", "m²"];
    /// Square feet.
    ft2, in_ft2 = FOOT * FOOT, ["ft2", "ft²", "sqft"];
}

quantity! {
    /// A volume; base L.
    Volume, "a volume", "L" = in_l;
    /// Litres.
    l, in_l = 1.0, ["L", "l"];
    /// US gallons of 231 cubic inches.
    us_gal, in_us_gal = 3.785_411_784, ["usgal"];
    /// Imperial gallons.
    imp_gal, in_imp_gal = 4.546_09, ["impgal"];
}

quantity! {
    /// A mass, displacement included; base kg.
    Mass, "a mass", "kg" = in_kg;
    /// Kilograms.
    kg, in_kg = 1.0, ["kg"];
    /// Tonnes.
    t, in_t = 1000.0, ["t"];
    /// Pounds.
    lb, in_lb = POUND, ["lb"];
    /// Long tons of 2240 lb.
    long_ton, in_long_ton = POUND * 2240.0, ["longton"];
    /// Short tons of 2000 lb.
    short_ton, in_short_ton = POUND * 2000.0, ["shortton"];
}

quantity! {
    /// A force or load; base N.
    Force, "a load", "kN" = in_kn;
    /// Kilonewtons.
    kn, in_kn = 1000.0, ["kN"];
    /// Newtons.
    n, in_n = 1.0, ["N"];
    /// Kilograms-force, which riggers and gauges call kilograms.
    kgf, in_kgf = GRAVITY, ["kgf", "kg"];
    /// Pounds-force.
    lbf, in_lbf = POUND * GRAVITY, ["lbf", "lb"];
}

quantity! {
    /// A pressure; base hPa.
    Pressure, "a pressure", "hPa" = in_hpa;
    /// Hectopascals, which are millibars.
    hpa, in_hpa = 1.0, ["hPa", "mbar", "mb"];
    /// Bars.
    bar, in_bar = 1000.0, ["bar"];
    /// Kilopascals.
    kpa, in_kpa = 10.0, ["kPa"];
    /// Pounds-force a square inch.
    psi, in_psi = POUND * GRAVITY / (FOOT / 12.0 * FOOT / 12.0) / 100.0, ["psi"];
    /// Conventional inches of mercury at 0 °C.
    in_hg, in_in_hg = 33.863_89, ["inHg"];
}

quantity! {
    /// An energy; base J.
    Energy, "an energy", "Wh" = in_wh;
    /// Watt-hours.
    wh, in_wh = 3600.0, ["Wh"];
    /// Kilowatt-hours.
    kwh, in_kwh = 3.6e6, ["kWh"];
    /// Joules.
    j, in_j = 1.0, ["J"];
    /// Kilojoules.
    kj, in_kj = 1000.0, ["kJ"];
}

quantity! {
    /// A power; base W.
    Power, "a power", "W" = in_w;
    /// Watts.
    w, in_w = 1.0, ["W"];
    /// Kilowatts.
    kw, in_kw = 1000.0, ["kW"];
    /// Mechanical horsepower, 550 ft·lbf/s.
    hp, in_hp = 550.0 * FOOT * POUND * GRAVITY, ["hp"];
    /// Metric horsepower, 75 kgf·m/s.
    ps, in_ps = 75.0 * GRAVITY, ["PS"];
}

quantity! {
    /// A current; base A.
    Current, "a current", "A" = in_a;
    /// Amperes.
    a, in_a = 1.0, ["A"];
}

quantity! {
    /// A voltage; base V.
    Voltage, "a voltage", "V" = in_v;
    /// Volts.
    v, in_v = 1.0, ["V"];
}

quantity! {
    /// A charge; base Ah.
    Charge, "a charge", "Ah" = in_ah;
    /// Ampere-hours.
    ah, in_ah = 1.0, ["Ah"];
}

quantity! {
    /// A stretch of time; base s.
    Period, "a time", "h" = in_h;
    /// Hours.
    h, in_h = 3600.0, ["h"];
    /// Minutes.
    min, in_min = 60.0, ["min"];
    /// Seconds.
    s, in_s = 1.0, ["s"];
    /// Days of 24 h.
    days, in_days = 86_400.0, ["d", "day", "days"];
}

quantity! {
    /// A stretch of days, at sea or of stores; base day.
    Days, "a number of days", "days" = in_days;
    /// Days of 24 h.
    d, in_days = 1.0, ["days", "day", "d"];
    /// Weeks.
    weeks, in_weeks = 7.0, ["weeks", "week"];
    /// Hours.
    h, in_h = 1.0 / 24.0, ["h", "hours", "hour"];
}

quantity! {
    /// A rate of fuel or water use; base L/h.
    Rate, "a rate", "L/h" = in_l_h;
    /// Litres an hour.
    l_h, in_l_h = 1.0, ["L/h", "l/h"];
    /// Litres a day.
    l_day, in_l_day = 1.0 / 24.0, ["L/day", "L/d"];
    /// Litres a minute.
    l_min, in_l_min = 60.0, ["L/min"];
}

quantity! {
    /// A speed of turning; base rpm.
    Revs, "an engine speed", "rpm" = in_rpm;
    /// Turns a minute.
    rpm, in_rpm = 1.0, ["rpm"];
    /// Turns a second.
    hz, in_hz = 60.0, ["Hz"];
}

quantity! {
    /// A share of a whole; base 1, shown in per cent.
    Share, "a share", "%" = in_percent;
    /// Per cent.
    percent, in_percent = 0.01, ["%"];
    /// A fraction of one.
    fraction, in_fraction = 1.0, ["of1"];
}

quantity! {
    /// A difference between two temperatures; base K.
    Warming, "a temperature difference", "K" = in_k;
    /// Kelvins, which are Celsius degrees of difference.
    k, in_k = 1.0, ["K", "degC"];
}

quantity! {
    /// Heat lost for each degree that inside is warmer than outside; base W/K.
    Loss, "a heat loss", "W/K" = in_w_k;
    /// Watts a kelvin.
    w_k, in_w_k = 1.0, ["W/K"];
}

/// A temperature; base °C.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Temperature(f64);

impl Temperature {
    /// Degrees Celsius.
    pub const fn deg_c(value: f64) -> Self {
        Self(value)
    }

    /// Degrees Fahrenheit: K = (F + 459.67) · 5/9.
    pub const fn deg_f(value: f64) -> Self {
        Self((value - 32.0) * 5.0 / 9.0)
    }

    /// The number in degrees Celsius.
    pub const fn in_deg_c(self) -> f64 {
        self.0
    }

    /// The number in degrees Fahrenheit.
    pub const fn in_deg_f(self) -> f64 {
        self.0 * 9.0 / 5.0 + 32.0
    }

    /// How much warmer this is than `other`.
    pub const fn above(self, other: Self) -> Warming {
        Warming::k(self.0 - other.0)
    }
}

impl Quantity for Temperature {
    const WHAT: &'static str = "a temperature";
    const UNIT: &'static str = "degC";
    fn canonical(self) -> f64 {
        self.0
    }
}

impl FromStr for Temperature {
    type Err = UnitError;
    fn from_str(text: &str) -> Result<Self, UnitError> {
        let found = split(text).and_then(|(number, unit)| match unit.as_str() {
            "" | "degC" | "C" | "°C" | "c" => Some(Self::deg_c(number)),
            "degF" | "F" | "°F" | "f" => Some(Self::deg_f(number)),
            "K" => Some(Self::deg_c(number - 273.15)),
            unit => of_notes(number, unit, "degC").map(Self::deg_c),
        });
        found.ok_or_else(|| UnitError {
            what: Self::WHAT,
            units: "degC, degF, K".to_string(),
            unit: Self::UNIT,
            found: text.to_string(),
        })
    }
}

impl fmt::Display for Temperature {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}{}", super::plain(self.0), crate::figure::suffix(Self::UNIT))
    }
}

impl Serialize for Temperature {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_f64(self.0)
    }
}

impl Speed {
    /// The time that a distance takes at this speed.
    pub fn time_over(self, distance: Distance) -> Period {
        Period::h(distance.in_nmi() / self.in_kn())
    }
}

impl Power {
    /// The energy of this power kept up for a time.
    pub fn over(self, time: Period) -> Energy {
        Energy::j(self.in_w() * time.in_s())
    }
}

impl Rate {
    /// The volume of this rate kept up for a time.
    pub fn over(self, time: Period) -> Volume {
        Volume::l(self.in_l_h() * time.in_h())
    }
}

impl Current {
    /// The charge of this current kept up for a time.
    pub fn over(self, time: Period) -> Charge {
        Charge::ah(self.in_a() * time.in_h())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reckon::check::near;

    /// NIST SP 811 (2008) B.8 (from memory), each also computed from the definitions.
    #[test]
    fn factors_are_the_published_ones() {
        near(Speed::kn(1.0).in_m_s(), 0.514_444_444_444_444_4, 1e-15);
        near(Distance::nmi(1.0).in_m(), 1852.0, 1e-9);
        near(Length::fathom(1.0).in_m(), 1.8288, 1e-12); // the international one, not the US survey fathom
        near(Length::inch(1.0).in_mm(), 25.4, 1e-12);
        near(Distance::mile(1.0).in_m(), 1609.344, 1e-9);
        near(Speed::mph(1.0).in_m_s(), 0.447_04, 1e-15);
        near(Force::kgf(1.0).in_n(), 9.806_65, 1e-12);
        near(Force::lbf(1.0).in_n(), 4.448_221_615_260_5, 1e-12);
        near(Pressure::psi(1.0).in_hpa(), 68.947_572_931_68, 1e-9);
        near(Pressure::in_hg(1.0).in_hpa(), 33.863_89, 1e-9);
        near(Volume::us_gal(1.0).in_l(), 3.785_411_784, 1e-12);
        near(Volume::imp_gal(1.0).in_l(), 4.546_09, 1e-12);
        near(Power::hp(1.0).in_w(), 745.699_872, 1e-6);
        near(Power::ps(1.0).in_w(), 735.498_75, 1e-9);
        near(Mass::long_ton(1.0).in_kg(), 1_016.046_908_8, 1e-9);
        near(Mass::short_ton(1.0).in_kg(), 907.184_74, 1e-9);
        near(Energy::kwh(1.0).in_j(), 3.6e6, 1e-9);
        near(Angle::deg(180.0).in_rad(), std::f64::consts::PI, 1e-15);
    }

    /// Values worked with pint 0.25.3.
    #[test]
    fn conversions_agree_with_an_independent_library() {
        near(Temperature::deg_f(-40.0).in_deg_c(), -40.0, 1e-12);
        near(Temperature::deg_f(0.0).in_deg_c(), -17.7778, 5e-5);
        near(Temperature::deg_f(14.0).in_deg_c(), -10.0, 1e-12);
        near(Temperature::deg_f(98.6).in_deg_c(), 37.0, 1e-12);
        near(Temperature::deg_c(10.0).in_deg_f(), 50.0, 1e-12);
        near(Speed::kn(1.0).in_km_h(), 1.852, 1e-12);
        near(Speed::kn(1.0).in_mph(), 1.150_779_45, 1e-8);
        near(Length::m(Distance::nmi(1.0).in_m()).in_ft(), 6076.1155, 5e-5);
        near(Pressure::in_hg(29.92).in_hpa(), 1013.2076, 5e-5);
        near(Pressure::psi(30.0).in_kpa(), 206.8427, 5e-5);
        near(Pressure::psi(30.0).in_bar(), 2.0684, 5e-5);
        near(Force::kgf(220.0).in_n(), 2157.463, 5e-4);
        near(Force::kgf(220.0).in_lbf(), 485.02, 5e-3);
    }

    #[test]
    fn a_number_alone_is_in_the_canonical_unit() {
        assert_eq!("20".parse(), Ok(Speed::kn(20.0)));
        assert_eq!("20 m/s".parse(), Ok(Speed::m_s(20.0)));
        assert_eq!("20kn".parse(), Ok(Speed::kn(20.0)));
        assert_eq!("\u{2212}8".parse(), Ok(Temperature::deg_c(-8.0)));
        assert_eq!("1e3 kg".parse(), Ok(Mass::kg(1000.0)));
        assert_eq!("14 degF".parse(), Ok(Temperature::deg_f(14.0)));
        assert_eq!("17%".parse(), Ok(Share::percent(17.0)));
        assert_eq!("5".parse(), Ok(Days::d(5.0)));
    }

    #[test]
    fn units_are_taken_as_notes_name_them() {
        assert_eq!("5 days".parse(), Ok(Days::d(5.0)));
        assert_eq!("2 weeks".parse(), Ok(Days::d(14.0)));
        assert_eq!("120gal".parse(), Ok(Volume::us_gal(120.0)));
        assert_eq!("120 litres".parse(), Ok(Volume::l(120.0)));
        assert_eq!("560 nautical miles".parse(), Ok(Distance::nmi(560.0)));
        assert_eq!("-6c".parse(), Ok(Temperature::deg_c(-6.0)));
        near("25 degrees fahrenheit".parse::<Temperature>().expect("one").in_deg_c(), -3.8889, 5e-5);
        near("10 metres per second".parse::<Speed>().expect("one").in_kn(), 19.4384, 5e-5);
    }

    #[test]
    fn a_speed_is_not_taken_from_another_unit() {
        let error = "12 V".parse::<Speed>().expect_err("volts are no speed");
        insta::assert_snapshot!(error, @r#"expected a speed in kn, m/s, km/h, mph, ft/s (a number alone is in kn), found "12 V""#);
        for text in ["", "kn", "nan", "inf", "1e999", "1..2", "--3", "twelve"] {
            assert!(text.parse::<Speed>().is_err(), "{text:?}");
        }
    }

    proptest::proptest! {
        #[test]
        fn any_text_is_taken_or_refused_without_panic(text in "\\PC*") {
            let _ = text.parse::<Speed>();
            let _ = text.parse::<Temperature>();
        }

        #[test]
        fn shown_and_read_again_is_the_same(value in -1e6..1e6f64) {
            let value = (value * 1000.0).round() / 1000.0;
            let again: Speed = Speed::kn(value).to_string().parse().expect("what is shown can be read");
            proptest::prop_assert!((again.in_kn() - value).abs() < 1e-3);
        }
    }
}

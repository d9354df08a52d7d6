//! A sailing boat's log made up for benches: a cycle of one second's sentences after the pattern of a real integrated
//! system (its kinds and how often each comes), with values that wander, so that no two cycles are the same.

use std::fmt::Write as _;

/// Wanders within a band, the same way every time.
struct Wander(u64);

impl Wander {
    fn step(&mut self, middle: f64, width: f64) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        middle + ((self.0 >> 33) as f64 / (1u64 << 31) as f64 - 0.5) * width
    }
}

/// A log of so many bytes, or a little more.
pub fn cycles(size: usize) -> Vec<u8> {
    let mut out = String::with_capacity(size + 4096);
    let mut body = String::new();
    let mut wander = Wander(42);
    let mut second = 0u64;
    while out.len() < size {
        let (h, m, s) = (second / 3600 % 24, second / 60 % 60, second % 60);
        let date = format!("{:02}0520", 1 + second / 86_400 % 28);
        let mut put = |args: std::fmt::Arguments| {
            body.clear();
            body.write_fmt(args).expect("a string takes it");
            let sum = body.bytes().fold(0, |sum, b| sum ^ b);
            write!(out, "${body}*{sum:02X}\r\n").expect("a string takes it");
        };
        let heading = wander.step(230.0, 20.0);
        let knots = wander.step(6.0, 2.0);
        let wind = wander.step(12.0, 4.0);
        let depth = wander.step(5.4, 1.0);
        let minutes = wander.step(51.0, 1.0);
        put(format_args!("SDDPT,{depth:.1},0.4,"));
        for n in 0..10 {
            put(format_args!("SDHDG,{:.1},,,1.3,E", heading + f64::from(n) / 10.0));
        }
        put(format_args!("SDMTW,{:.1},C", wander.step(14.0, 1.0)));
        put(format_args!("SDVLW,,N,545.6,N,1109.4,N,393.6,N"));
        put(format_args!("SDVHW,{:.1},T,{heading:.1},M,{knots:.1},N,{:.1},K", heading + 1.3, knots * 1.852));
        put(format_args!("WIMWD,328.2,T,326.8,M,{wind:.1},N,{:.1},M", wind / 1.94384));
        put(format_args!("WIMWV,{:.1},R,{:.1},N,A", wander.step(57.5, 10.0), wind + 3.0));
        put(format_args!("WIMWV,{:.1},T,{wind:.1},N,A", wander.step(96.6, 10.0)));
        put(format_args!(
            "IIXDR,C,,C,AIRTEMP,A,{:.1},D,HEEL,A,2.9,D,TRIM,P,,B,BARO,A,-3.9,D,RUDDER",
            wander.step(-1.0, 5.0)
        ));
        put(format_args!("GPGGA,{h:02}{m:02}{s:02},52{minutes:07.4},N,00518.8172,E,1,12,0.60,-4,M,46.8,M,,"));
        put(format_args!("GPGLL,52{minutes:07.4},N,00518.8170,E,{h:02}{m:02}{s:02},A,A"));
        put(format_args!("GPGSA,A,3,07,08,10,16,20,21,26,27,29,76,75,70,1.10,0.60,0.90"));
        put(format_args!("GPGSV,3,1,12,07,10,333,39,08,12,279,35,10,16,158,33,16,74,249,37"));
        put(format_args!("GPGSV,3,2,12,20,36,138,34,21,66,078,39,26,57,179,33,27,45,281,38"));
        put(format_args!("GPGSV,3,3,12,29,11,091,46,76,48,226,32,75,14,188,27,70,27,083,31"));
        put(format_args!(
            "GPRMC,{h:02}{m:02}{s:02},A,52{minutes:07.4},N,00518.8170,E,{knots:.1},230.5,{date},1.4,E,A"
        ));
        put(format_args!("GPVTG,230.5,T,229.1,M,{knots:.1},N,{:.1},K,A", knots * 1.852));
        put(format_args!("GPZDA,{h:02}{m:02}{s:02},{},05,2020,-01,00", &date[..2]));
        put(format_args!("GPAAM,,,,N,"));
        put(format_args!("GPAPB,,,,,,,,,,,,,,,N"));
        put(format_args!("GPBOD,,T,,M,,"));
        put(format_args!("GPRMB,,,,,,,,,,,,,,N"));
        put(format_args!("GPXTE,,,,,N,N"));
        put(format_args!("SDDBT,{:.1},f,{depth:.1},M,{:.1},F", depth / 0.3048, depth / 1.8288));
        second += 1;
    }
    out.into_bytes()
}

//! What is drawn where.

use super::super::recorder::record;
use super::super::samples::{NAMES, Sample, mohm};
use super::super::{DEFAULT_DPI, Size, render_png};
use super::*;
use groundwall::assess::{Action, Drying};
use groundwall::record::Event;
use groundwall::resistance::Measured;
use groundwall::units::{Temperature, Voltage};
use proptest::prelude::*;

const SIZES: [(u32, u32, u32); 4] = [(1200, 800, 150), (600, 400, 150), (2400, 1600, 300), (1000, 1400, 150)];

/// Hours, MΩ and °C of an invented drying: a dip as the heat comes, a rise as the water leaves, flat at the end.
const HOURS: [(u32, f64, f64); 9] = [
    (0, 0.6, 18.0),
    (4, 0.3, 60.0),
    (8, 0.2, 80.0),
    (16, 0.9, 80.0),
    (24, 6.0, 80.0),
    (36, 40.0, 80.0),
    (42, 62.0, 80.0),
    (48, 63.0, 81.0),
    (56, 62.5, 80.0),
];

fn drying(name: &str) -> PanelsPicture {
    let mut sample = Sample::new(name, Action::Hold, "2026-11-25");
    for (i, (hour, megohms, celsius)) in HOURS.into_iter().enumerate() {
        sample = sample.test("2026-11-10", Measured::Exact(mohm(megohms)), Some(1.0)).last(|test| {
            test.tested_on.date = test.tested_on.date + chrono::Days::new(u64::from(hour / 24));
            test.tested_on.time = chrono::NaiveTime::from_hms_opt(hour % 24, 0, 0);
            test.winding_temp = Temperature::from_celsius(celsius).ok();
            test.event = Some(if i == 0 { Event::Flooded } else { Event::Drying });
        });
    }
    let since = sample.judgement.tests[0].tested_on.date;
    let rows = 0..HOURS.len();
    sample.judgement.drying = Some(Drying { rows, since, flooded: true, is_over: false, ended_by_a_test: false });
    drying::picture(&sample.judgement, &sample.context).expect("a process")
}

fn steps(name: &str, read: &[(f64, Measured)]) -> Option<PanelsPicture> {
    let mut sample = Sample::new(name, Action::Hold, "2026-11-25");
    for (volts, value) in read {
        sample = sample
            .test("2026-11-10", *value, Some(1.0))
            .last(|test| test.test_volts = Voltage::from_volts(*volts).ok());
    }
    steps::picture(&sample.judgement, &sample.context)
}

fn exact(megohms: f64) -> Measured {
    Measured::Exact(mohm(megohms))
}

#[test]
fn drying_out_has_its_dip_its_temperature_and_its_flat_end() {
    let picture = drying("P-103");
    assert_eq!(picture.words.title, "P-103: drying since 10 Nov 2026: 62.5 MΩ at 80 °C, flat for 14 h");
    assert_eq!(picture.marks, [(8.0, "lowest, after 8 h".to_owned()), (42.0, "flat for 14 h".to_owned())]);
    assert_eq!(picture.points.len(), 9);
    let (record, _) = record(&picture, Size::default(), DEFAULT_DPI);
    for text in ["0 h", "50 h", "lowest, after 8 h", "flat for 14 h", "Temperature of the winding, °C"] {
        assert!(record.says(text), "{text} is missing");
    }
}

#[test]
fn steps_have_their_currents_and_what_is_left() {
    let read = [(500.0, exact(1000.0)), (1000.0, exact(900.0)), (2500.0, exact(360.0))];
    let picture = steps("R-1", &read).expect("three steps");
    assert_eq!(picture.words.title, "R-1: 36 % of the resistance left from 500 V to 2500 V");
    let currents: Vec<String> = picture.points.iter().map(|p| format!("{:.2}", p.lower.unwrap_or(0.0))).collect();
    assert_eq!(currents, ["0.50", "1.11", "6.94"]);
    let (record, _) = record(&picture, Size::default(), DEFAULT_DPI);
    for text in ["1000 V", "2000 V", "Current, µA"] {
        assert!(record.says(text), "{text} is missing");
    }
    let bounds = [(500.0, Measured::Above(mohm(2000.0))), (1000.0, Measured::Above(mohm(2000.0)))];
    let picture = steps("R-1", &bounds).expect("two steps");
    assert_eq!(picture.words.title, "R-1: what is left from 500 V to 1000 V is unknown");
    assert_eq!(steps("R-1", &read[..1]), None);
}

#[test]
fn no_text_meets_another_or_leaves_the_page() {
    for name in NAMES {
        let read = [(500.0, exact(1000.0)), (1000.0, exact(900.0)), (2500.0, exact(0.36)), (5000.0, exact(1e-5))];
        for picture in [drying(name), steps(name, &read).expect("steps")] {
            for (width, height, dpi) in SIZES {
                let (record, page) = record(&picture, Size { width, height }, dpi);
                assert_eq!(record.misplaced(page), None, "{name} {width}×{height}");
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, ..ProptestConfig::default() })]

    #[test]
    fn no_readings_stop_the_pen(read in prop::collection::vec((1.3f64..4.0, -6.0f64..8.0, 0u8..6), 2..8)) {
        let mut volts = 40.0;
        let read: Vec<(f64, Measured)> = read
            .into_iter()
            .map(|(rise, log10, says)| {
                volts *= rise;
                let r = mohm(10f64.powf(log10).clamp(1e-6, 1e8));
                let value = match says {
                    0 => Measured::Above(r),
                    1 => Measured::Below(r),
                    2 => Measured::OffScale,
                    _ => Measured::Exact(r),
                };
                (volts.min(1e5), value)
            })
            .collect();
        if let Some(picture) = steps("R-1", &read) {
            let small = render_png(&picture, Size { width: 400, height: 300 }, 100);
            prop_assert!(small.is_ok());
            let (record, page) = record(&picture, Size::default(), DEFAULT_DPI);
            prop_assert_eq!(record.misplaced(page), None);
        }
    }
}

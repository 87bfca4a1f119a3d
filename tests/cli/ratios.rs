use super::world::{Outcome, World};

fn json(readings: &[&str]) -> serde_json::Value {
    let outcome = World::new(&[]).run(&[&["ratios"], readings, &["--format", "json"]].concat());
    assert_eq!((outcome.status, outcome.words.as_str()), (0, ""), "{readings:?}");
    serde_json::from_str(&outcome.out).unwrap()
}

#[test]
fn ratios_of_timed_readings() {
    let answer = json(&["10min=980", "30s=310", "60s=420"]);
    assert!((answer["pi"].as_f64().unwrap() - 980.0 / 420.0).abs() < 1e-12);
    assert!((answer["dar"].as_f64().unwrap() - 420.0 / 310.0).abs() < 1e-12);
    assert!(answer["r60_r15"].is_null(), "never by extrapolation");
}

#[test]
fn a_time_has_one_reading() {
    assert_eq!(
        World::new(&[]).run(&["ratios", "60s=420", "1min=430"]),
        Outcome::refused(
            2,
            "60 s is given twice, as 420 MΩ and as 430 MΩ; each time has one reading\n\
             hint: leave out the one that does not belong to this test\n"
        )
    );
}

#[test]
fn a_reading_that_cannot_be_read_says_the_form() {
    let outcome = World::new(&[]).run(&["ratios", "60=420"]);
    assert_eq!(outcome.status, 2);
    assert!(outcome.words.starts_with(
        "error: invalid value '60=420' for '[TIME=RESISTANCE]...': \
         a time is seconds or minutes with the unit, such as 30s or 10min\n"
    ));
}

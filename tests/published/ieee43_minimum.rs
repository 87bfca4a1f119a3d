//! IEEE Std 43 cl. 12.3: minimum one-minute resistance at 40 °C by construction, age and voltage; one phase alone.
//!
//! Read in quotations: a conference paper of 2011 (Table I), a trade quiz of 2004 on the edition of 2000, an article of
//! 2016 on the changes of 2013. The note on one phase is from memory.
//!
//! DIFFERENCE: the edition of 2000 had 100 MΩ for armatures (article of 2016, read); the code takes the 5 MΩ of 2013 for
//! direct-current armatures made since 1970 and says so in its rule.

use crate::published_rows::{Row, Rows};
use groundwall::minimum::{kilovolts_plus_one, minimum_of};
use groundwall::nameplate::{Construction, Nameplate};
use groundwall::policy::{MinimumChoice, Policy};
use groundwall::record::Connection;
use groundwall::record::OtherPhases;
use groundwall::units::{Resistance, Voltage};

fn groups() -> Rows {
    Rows::read("ieee43_minimum.csv", include_str!("data/ieee43_minimum.csv"), 18)
}

fn nameplate(row: &Row) -> Nameplate {
    let construction = row.text("construction");
    assert!(construction.is_empty() || Construction::read(construction).is_some(), "{}", row.cite());
    Nameplate {
        construction: Construction::read(construction),
        rated_voltage: Some(Voltage::from_volts(row.number("rated_v")).unwrap()),
        year_made: row.number_if_any("year_made").map(|year| year as i32),
        ..Nameplate::default()
    }
}

fn minimum(row: &Row, connection: &Connection, policy: &Policy) -> f64 {
    minimum_of(&nameplate(row), connection, None, None, policy).resistance.as_megohms()
}

#[test]
fn every_group_has_its_minimum() {
    groups().check(|row| minimum(row, &Connection::AllEarth, &Policy::default()));
}

/// The clause and, where the editions differ, the edition stand in the rule that the user sees.
#[test]
fn the_rule_names_its_clause() {
    for row in groups().iter() {
        let rule = minimum_of(&nameplate(row), &Connection::AllEarth, None, None, &Policy::default()).rule;
        assert!(rule.contains("IEEE Std 43 cl. 12.3"), "{rule}; {}", row.cite());
        assert_eq!(rule.contains("2013"), row.text("construction") == "dc-armature", "{rule}; {}", row.cite());
    }
}

/// With the rule of kV + 1 for every winding the construction does not matter: the same rows, each with its own kV + 1.
#[test]
fn rated_kilovolts_plus_one_where_the_site_wants_it_for_all() {
    let policy = Policy { minimum: MinimumChoice::KilovoltsPlusOne, ..Policy::default() };
    for row in groups().iter() {
        let found = minimum(row, &Connection::AllEarth, &policy);
        let by_hand = row.number("rated_v") / 1000.0 + 1.0;
        assert!((found / by_hand - 1.0).abs() < 1e-12, "{found}, {by_hand}; {}", row.cite());
        let alone = kilovolts_plus_one(Voltage::from_volts(row.number("rated_v")).unwrap()).as_megohms();
        assert_eq!(alone, found, "{}", row.cite());
    }
}

/// From memory: cl. 12.3, note.
#[test]
fn one_phase_is_brought_to_the_whole_winding() {
    let rows = Rows::read("ieee43_one_phase.csv", include_str!("data/ieee43_one_phase.csv"), 2);
    rows.check(|row| {
        let others = match row.text("other_phases") {
            "earthed" => OtherPhases::Earthed,
            _ => OtherPhases::Guarded,
        };
        others.whole_winding(Resistance::from_megohms(row.number("one_phase_mohm")).unwrap()).as_megohms()
    });
}

/// The same note read the other way: one phase alone must show twice the minimum of the whole winding.
#[test]
fn one_phase_alone_has_twice_the_minimum_of_every_group() {
    for row in groups().iter() {
        let policy = Policy::default();
        let whole = minimum(row, &Connection::AllEarth, &policy);
        let phase = minimum(row, &Connection::read("V-earth"), &policy);
        assert!((phase / whole - 2.0).abs() < 1e-12, "{phase}, {whole}; {}", row.cite());
    }
}

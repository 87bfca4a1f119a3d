//! Drying out as one process, and leads of one winding that were not separated. Common practice.

use super::*;
use crate::record::Event;

fn row(on: &str, r60: &str, celsius: &str, event: &str) -> TestRecord {
    test(&[("tested_on", on), ("r_60s", r60), ("winding_temp_c", celsius), ("event", event)])
}

/// A year of good tests, then a flood and hot readings that rise.
fn flooded(more: &[TestRecord]) -> SeriesAssessment {
    let mut tests = quarterly(&steady(300.0, 5));
    tests.extend([
        row("2026-11-01T08:00", "0.5", "18", "flooded"),
        row("2026-11-01T20:00", "0.2", "70", "drying"),
        row("2026-11-02T08:00", "4", "85", "drying"),
        row("2026-11-02T22:00", "60", "85", "drying"),
        row("2026-11-03T11:00", "62", "85", "drying"),
    ]);
    tests.extend_from_slice(more);
    judge(tests)
}

#[test]
fn hot_readings_release_nothing_and_are_no_trend() {
    let drying = flooded(&[]);
    assert_eq!(drying.action, Action::Hold);
    assert_eq!(
        message(&drying, Code::Drying),
        "The winding was flooded on 2026-11-01, and the latest reading, 62 MΩ at 85 °C on 2026-11-03, does not clear it for service: hold it \
         until a cold reading, at 40 °C or less and near the temperature of the air, is above the minimum of 5 MΩ, and the polarization \
         index where one means something. It has been flat for 13 h at a steady temperature: let it cool and test it."
    );
    for code in
        [Code::UnitSlip, Code::LawLearnt, Code::FallSinceLast, Code::TestedTwice, Code::ReachesMinimum, Code::Falling]
    {
        assert_eq!(message(&drying, code), "", "{code}");
    }
    assert_eq!(drying.trend.as_ref().map(|trend| trend.tests), Some(1));
    // 62 MΩ at 85 °C would be 340 MΩ at 40 °C and look like a pass.
    let latest = drying.latest.as_ref().unwrap();
    assert_eq!((latest.r60_mohm, latest.kt, latest.r60_ref_mohm), (Some(62.0), None, None));
    assert_eq!(
        drying.next_test.why,
        "before the winding is energised: it is being dried out, and only a cold test releases it"
    );
}

/// No sentence beside it says that a hot or unknown temperature leaves enough, or that the work is done.
#[test]
fn nothing_reassures_while_it_is_drying() {
    for celsius in ["92", ""] {
        let result = flooded(&[row("2026-11-04T08:00", "400", celsius, "dried")]);
        let codes: Vec<Code> = result.findings.iter().map(|finding| finding.code).collect();
        assert_eq!((result.action, codes), (Action::Hold, vec![Code::Drying, Code::FewReadings]), "{celsius}");
    }
}

#[test]
fn a_cold_test_ends_it_whatever_it_is_called() {
    for event in ["dried", "drying", ""] {
        let cold = flooded(&[row("2026-11-05T08:00", "120", "22", event)]);
        assert_eq!((cold.action, message(&cold, Code::Drying)), (Action::Gather, ""), "{event}");
        assert_eq!(
            (cold.next_test.by.to_string().as_str(), cold.next_test.why.as_str()),
            ("2026-11-25", "now: the test 7 days after the winding was found dry on 2026-11-05 was not made"),
            "{event}"
        );
    }
    for (r60, celsius) in [("120", "60"), ("5", "22"), ("120", "")] {
        let result = flooded(&[row("2026-11-05T08:00", r60, celsius, "dried")]);
        assert_eq!(result.action, Action::Hold, "{r60} MΩ at {celsius} °C");
    }
    // A new winding is not the one that was wet.
    assert_ne!(flooded(&[row("2026-11-05T08:00", "120", "60", "rewound")]).action, Action::Hold);
}

/// A winding whose index means something needs one to be released; one of unknown construction below 1 kV is taken as random-wound.
#[test]
fn a_wet_winding_is_not_released_without_the_index_that_it_needs() {
    let of = |nameplate: Nameplate, ten: &str| {
        let rows = [
            test(&[("tested_on", "2026-10-01"), ("r_60s", "1500"), ("winding_temp_c", "24")]),
            test(&[("tested_on", "2026-11-01"), ("event", "flooded")]),
            test(&[("tested_on", "2026-11-15"), ("r_60s", "400"), ("r_600s", ten), ("winding_temp_c", "24")]),
        ];
        judge_all(rows.to_vec(), nameplate).remove(0).assessment.action
    };
    assert_eq!(of(form_wound(), ""), Action::Hold);
    assert_eq!(of(form_wound(), "700"), Action::Hold, "1.75, and 2 are needed");
    assert_ne!(of(form_wound(), "900"), Action::Hold);
    assert_ne!(of(nameplate(), ""), Action::Hold);
    assert_ne!(of(Nameplate { construction: None, ..nameplate() }, ""), Action::Hold);
    assert_eq!(of(Nameplate { construction: None, rated_voltage: None, ..nameplate() }, ""), Action::Hold);
}

#[test]
fn after_it_come_a_week_and_a_month() {
    let dry = row("2026-11-15", "120", "22", "dried");
    let by = |more: &[TestRecord]| flooded(more).next_test.by.to_string();
    assert_eq!(by(std::slice::from_ref(&dry)), "2026-11-25");
    let week = row("2026-11-22", "125", "22", "");
    assert_eq!(by(&[dry.clone(), week.clone()]), "2026-12-15");
    let early = row("2026-11-21", "125", "22", "");
    assert_eq!(by(&[dry, early]), "2026-11-25");
}

#[test]
fn a_flood_without_a_reading_holds() {
    let mut tests = quarterly(&steady(300.0, 5));
    tests.push(test(&[("tested_on", "2026-11-01"), ("event", "flooded")]));
    let result = judge(tests);
    assert_eq!(result.action, Action::Hold);
    assert!(
        message(&result, Code::Drying)
            .starts_with("The winding was flooded on 2026-11-01, and nothing was read since:")
    );
    assert_eq!(Event::read("Flooded"), Some(Event::Flooded));
}

/// Nobody is sent to test a hot winding against the stop value of a hot one.
#[test]
fn the_round_asks_for_a_cold_test() {
    let mut tests = quarterly(&steady(300.0, 5));
    tests.push(row("2026-11-01T08:00", "0.5", "18", "flooded"));
    tests.push(row("2026-11-02T08:00", "60", "85", "drying"));
    let register = Register::from([("P-1".to_owned(), nameplate())]);
    let terms =
        Terms { policy: Policy::default(), as_of: day(AS_OF), confidence: Confidence::from_fraction(0.9).unwrap() };
    let round = crate::round::plan_round(Series::collect(tests), &register, &terms, day("2026-12-31"), &InTurn);
    let line = &round.lines[0];
    assert_eq!(
        (line.likely.at.as_celsius(), line.expected.in_words().as_str()),
        (25.0, "cannot say: it is being dried out: test it cold")
    );
}

/// Three tests of three leads to earth, at 40 °C.
fn leads(others: &str, values: [&str; 3]) -> Vec<SeriesAssessment> {
    let mut tests = Vec::new();
    for on in ["2026-04-21", "2026-07-21", "2026-10-20"] {
        for (lead, r60) in ["U-earth", "V-earth", "W-earth"].into_iter().zip(values) {
            let row = [("tested_on", on), ("connection", lead), ("r_60s", r60), ("winding_temp_c", "40")];
            tests.push(test(&[&row[..], &[("other_phases", others)]].concat()));
        }
    }
    judge_all(tests, nameplate()).into_iter().map(|judgement| judgement.assessment).collect()
}

/// 7.5 MΩ passes the 5 MΩ of a whole winding and not the 10 MΩ of one phase.
#[test]
fn three_leads_of_a_joined_winding_are_one_winding_read_three_times() {
    let owes = |results: &[SeriesAssessment]| {
        results.iter().map(|r| r.minimum.as_ref().map_or(0.0, |m| m.resistance.as_megohms())).collect::<Vec<_>>()
    };
    let joined = leads("joined", ["7.5", "7.5", "7.5"]);
    assert_eq!(owes(&joined), [5.0; 3]);
    assert!(joined.iter().all(|result| message(result, Code::BelowMinimum).is_empty()));
    let earthed = leads("earthed", ["7.5", "7.5", "7.5"]);
    assert_eq!((owes(&earthed), earthed[0].action), (vec![10.0; 3], Action::Hold));
    assert_eq!(owes(&leads("guarded", ["40", "40", "40"])), [15.0; 3]);
    let unsaid = leads("", ["7.5", "7.6", "7.4"]);
    assert_eq!(owes(&unsaid), [5.0; 3]);
    assert!(unsaid.iter().all(|result| result.action != Action::Hold && result.must_not_be_energised()));
    assert_eq!(
        message(&unsaid[0], Code::PhasesJoined),
        "3 leads of this winding read alike on 2026-10-20, and the other phases were not recorded: if they were joined, this is one \
         winding read 3 times, and 7.5 MΩ is above its minimum of 5 MΩ; if they were separated and earthed, each phase owes 10 MΩ. Write \
         other_phases, or separate them and repeat the test, before the winding is energised."
    );
    // Leads that read differently are phases of their own.
    assert_eq!(owes(&leads("", ["7.5", "9", "8"])), [10.0; 3]);
    // Above both there is nothing to ask, and the stricter stands.
    let above = leads("", ["200", "201", "199"]);
    assert_eq!(owes(&above), [10.0; 3]);
    assert!(above.iter().all(|result| message(result, Code::PhasesJoined).is_empty()));
}

#[test]
fn joined_leads_that_differ_are_read_again() {
    let mut tests = Vec::new();
    for (lead, r60) in [("U-earth", "200"), ("V-earth", "205"), ("W-earth", "198"), ("N-earth", "60")] {
        let row = [("tested_on", "2026-10-20"), ("connection", lead), ("r_60s", r60), ("winding_temp_c", "40")];
        tests.push(test(&[&row[..], &[("other_phases", "joined")]].concat()));
    }
    let results = judge_all(tests, nameplate());
    let neutral = &results[3].assessment;
    assert_eq!((neutral.connection.as_str(), neutral.action), ("N-earth", Action::Recheck));
    assert_eq!(
        message(neutral, Code::PhasesJoined),
        "On 2026-10-20 the phases were joined, so that every lead is the same copper, and V-earth read 3.42 times N-earth, more than 2 \
         times: one of the leads was not connected, or its reading is wrong; repeat both."
    );
    assert!(results[..3].iter().all(|result| message(&result.assessment, Code::PhaseSpread).is_empty()));
}

#[test]
fn zero_between_joined_leads_is_copper() {
    let between = |others: &str, scope: &str| {
        let row = [("tested_on", "2026-10-20"), ("connection", "U-V"), ("r_60s", "0"), ("winding_temp_c", "40")];
        judge(vec![test(&[&row[..], &[("other_phases", others), ("scope", scope)]].concat())])
    };
    for others in ["joined", ""] {
        let result = between(others, "winding");
        assert_eq!((result.action, result.must_not_be_energised()), (Action::Recheck, true));
    }
    assert_eq!(
        message(&between("", "winding"), Code::PhasesJoined),
        "< 0.1 MΩ was read from lead to lead (U-V) on 2026-10-20: leads of a joined star are connected by the copper of the winding, and then \
         this is not a fault. Were the phases separated? If they were, it is a short between phases: keep it out of service. Separate the phases \
         at the star point and repeat the test before the winding is energised."
    );
    for (others, scope) in
        [("earthed", "winding"), ("guarded", "winding"), ("open", "winding"), ("", "circuit"), ("", "cable")]
    {
        assert_eq!(between(others, scope).action, Action::Hold, "{others} {scope}");
    }
}

/// Rows of one round at 40 °C: lead, what the other phases were, reading.
fn round_on(on: &str, rows: &[(&str, &str, &str)]) -> Vec<TestRecord> {
    let row = |(lead, others, r60): &(&str, &str, &str)| {
        let cells = [("connection", *lead), ("other_phases", others), ("r_60s", r60), ("winding_temp_c", "40")];
        test(&[&cells[..], &[("tested_on", on)]].concat())
    };
    rows.iter().map(row).collect()
}

fn mixed(rows: &[(&str, &str, &str)]) -> Vec<SeriesAssessment> {
    let judged = judge_all(round_on("2026-10-20", rows), nameplate());
    judged.into_iter().map(|judgement| judgement.assessment).collect()
}

/// Within one round one record says joined and others say earthed: no minimum is lowered by that, and no phase leaves the comparison
/// unseen.
#[test]
fn leads_of_one_round_that_were_connected_differently_are_held_to_the_stricter() {
    let results = mixed(&[("U-earth", "joined", "200"), ("V-earth", "earthed", "390"), ("W-earth", "earthed", "400")]);
    assert_eq!(results[0].action, Action::Recheck);
    assert_eq!(
        message(&results[0], Code::OtherPhasesMixed),
        "On 2026-10-20 the other phases were joined at this lead, and earthed at V-earth and W-earth; a lead reads the whole winding \
         with the other phases joined to it, about twice that with them earthed and three times with them guarded, so the readings are \
         compared as read and as brought to the whole winding. Because the records conflict, this one is compared with the \
         separated-phase minimum, 10 MΩ. Write what \
         the other phases were at each reading, or repeat the test."
    );
    assert_eq!(
        (results[1].action, message(&results[1], Code::OtherPhasesMixed)),
        (
            Action::Gather,
            "On 2026-10-20 the other phases were earthed at this lead, and joined at U-earth; a lead reads the whole winding with the \
             other phases joined to it, about twice that with them earthed and three times with them guarded, so the readings are \
             compared as read and as brought to the whole winding. Write what the other phases were at each reading."
        )
    );
    // 7.5 MΩ would pass as a whole winding; what contradicts another record does not make it one.
    let low = mixed(&[("U-earth", "joined", "7.5"), ("V-earth", "earthed", "390"), ("W-earth", "earthed", "400")]);
    assert_eq!(low[0].action, Action::Hold);
    // 30 MΩ of the whole winding beside phases of 300 MΩ: the fault is in this phase.
    let apart = mixed(&[("U-earth", "joined", "30"), ("V-earth", "earthed", "300"), ("W-earth", "earthed", "310")]);
    assert_eq!((apart[0].action, apart[0].must_not_be_energised()), (Action::Recheck, true));
    assert!(
        message(&apart[0], Code::OtherPhasesMixed)
            .contains(" Brought to the whole winding, W-earth read 5.17 times as much as this lead.")
    );
    // Three times guarded and twice earthed are the same winding; less is not.
    let alike = mixed(&[("U-earth", "guarded", "300"), ("V-earth", "earthed", "205"), ("W-earth", "earthed", "195")]);
    assert!(alike.iter().all(|result| result.action == Action::Gather));
    let guarded = mixed(&[("U-earth", "guarded", "140"), ("V-earth", "earthed", "200"), ("W-earth", "earthed", "195")]);
    assert_eq!(guarded[0].action, Action::Recheck);
    assert_eq!(
        message(&guarded[0], Code::OtherPhasesMixed),
        "On 2026-10-20 the other phases were guarded at this lead, and earthed at V-earth and W-earth; a lead reads the whole winding \
         with the other phases joined to it, about twice that with them earthed and three times with them guarded, so the readings are \
         compared as read and as brought to the whole winding. Brought to the whole winding, V-earth read 2.14 times as much as this \
         lead. Repeat the test before the winding is energised, every lead connected alike."
    );
    assert!(message(&guarded[1], Code::OtherPhasesMixed).contains("guarded at U-earth"));
    assert!(
        mixed(&[("U-earth", "joined", "200"), ("V-earth", "joined", "205"), ("W-earth", "joined", "198")])
            .iter()
            .all(|result| message(result, Code::OtherPhasesMixed).is_empty())
    );
}

/// Quarterly tests of U to earth up to October 2026: what the other phases were, and the reading.
fn changed(tests: &[(&str, &str)]) -> SeriesAssessment {
    let rows = tests.iter().rev().zip(["2026-10-20", "2026-07-21", "2026-04-21", "2026-01-20", "2025-10-21"]);
    judge(rows.flat_map(|((others, r60), on)| round_on(on, &[("U-earth", others, r60)])).collect())
}

#[test]
fn a_rise_that_comes_from_the_connection_hides_no_fall() {
    let first = changed(&[("joined", "100"), ("joined", "104"), ("joined", "98"), ("earthed", "100")]);
    assert_eq!((first.action, first.must_not_be_energised()), (Action::Recheck, true));
    assert_eq!(
        message(&first, Code::OtherPhasesMixed),
        "The other phases were earthed on 2026-10-20 and joined on 2026-07-21, and a lead reads the whole winding with the other phases \
         joined to it, about twice that with them earthed and three times with them guarded: brought to the whole winding, the latest \
         reading is lower by a factor of 2 than those before; repeat the test before the winding is energised, connected as before."
    );
    let twice =
        changed(&[("joined", "100"), ("joined", "104"), ("joined", "98"), ("earthed", "100"), ("earthed", "97")]);
    assert_eq!(twice.action, Action::Shorten);
    // What is left is close to the minimum of 10 MΩ.
    let low = changed(&[("joined", "20"), ("joined", "20.5"), ("joined", "19.5"), ("earthed", "18"), ("", "17")]);
    assert_eq!(low.action, Action::Plan);
    // Twice as much is what the connection makes.
    let sound = changed(&[("joined", "100"), ("joined", "104"), ("joined", "98"), ("earthed", "200")]);
    assert_eq!(sound.action, Action::Keep);
    assert!(
        message(&sound, Code::OtherPhasesMixed)
            .ends_with("; part of any difference comes from that. Connect it alike each time.")
    );
}

#[test]
fn a_lead_that_is_called_joined_for_the_first_time_does_not_owe_less_unseen() {
    let result = changed(&[("earthed", "16"), ("earthed", "15.5"), ("earthed", "16.5"), ("joined", "8")]);
    assert!(result.action <= Action::Recheck && result.must_not_be_energised());
    assert!(message(&result, Code::OtherPhasesMixed).ends_with(
        ". As a joined lead it is above its minimum, and as a separated one it would need 10 MΩ: see how it was connected, and repeat \
         the test before the winding is energised."
    ));
    // Where nothing was ever written, there is nothing to compare; nor where it was always the same.
    for others in ["", "joined", "guarded"] {
        let same = changed(&[(others, "100"), (others, "104"), (others, "98"), (others, "101")]);
        assert_eq!(message(&same, Code::OtherPhasesMixed), "", "{others}");
    }
}

/// A joined round takes nothing back of what the separated phases showed.
#[test]
fn joined_readings_are_no_phases_to_compare() {
    let mut tests = round_on("2026-07-21", &[("U-earth", "earthed", "100"), ("V-earth", "earthed", "300")]);
    tests.extend(round_on("2026-10-20", &[("U-earth", "joined", "100"), ("V-earth", "joined", "101")]));
    let results = judge_all(tests, nameplate());
    assert_eq!(
        message(&results[0].assessment, Code::PhaseSpread),
        "On 2026-07-21 phase V read 3 times as much as phase U, more than the limit of 2."
    );
}

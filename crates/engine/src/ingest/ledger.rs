//! What is said about the reading of histories: counts per file, columns that were ignored, windings that are not in the register.

use super::aliases;
use super::names::bare;
use super::register::Register;
use super::{Ingested, InputLedger};
use crate::error::{Failure, Problem, shown};
use chrono::NaiveDate;
use groundwall::assess::{Code, SeriesAssessment};
use groundwall::record::Item;
use groundwall::record::columns::{Column, TemperatureScale};
use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// The counts of one input: `plant.csv: 240 rows: 237 accepted, 1 repeated, 2 rejected`.
#[must_use]
pub fn counts(ledger: &InputLedger) -> String {
    let rows = if ledger.rows == 1 { "row" } else { "rows" };
    format!(
        "{}: {} {rows}: {} accepted, {} repeated, {} rejected",
        ledger.name(),
        ledger.rows,
        ledger.accepted,
        ledger.repeated,
        ledger.rejected
    )
}

/// The columns of one input that were not read, if any.
#[must_use]
pub fn left_alone(file: &str, columns: &[String]) -> Option<String> {
    let plural = if columns.len() == 1 { "column" } else { "columns" };
    (!columns.is_empty()).then(|| format!("{file}: ignored {plural}: {}", columns.join(", ")))
}

/// How a register was read: what was left alone and what it was perhaps meant to be, and whether it has ratings.
#[must_use]
pub fn of_register(register: &Register) -> Vec<String> {
    let file = &register.file;
    let mut texts = register.assumed.clone();
    if let Some(mut text) = left_alone(file, &register.left_alone) {
        if !register.near.is_empty() {
            let meant: Vec<String> =
                register.near.iter().map(|(header, column)| format!("{column} for {header}")).collect();
            text.push_str(&format!(
                "\nhint: did you mean {}? rename it, or say what it holds under [columns] in the policy file",
                meant.join(", ")
            ));
        }
        texts.push(text);
    }
    texts.extend(unread_cells(register));
    if !register.has_rated_volts && register.nameplates().values().any(|nameplate| nameplate.minimum.is_none()) {
        texts.push(format!(
            "{file}: no column of rated voltages is understood, so minimums that follow from them are assumed\n\
             hint: add a column rated_volts with the voltages of the nameplates, in V"
        ));
    }
    texts
}

/// So many cells of a register that cannot be read are listed.
const MOST_CELLS: usize = 10;

/// The cells of a register that cannot be read, and what follows from that.
fn unread_cells(register: &Register) -> Vec<String> {
    let file = &register.file;
    let list = |cells: &[Problem], of_one: &str, of_several: &str| {
        let mut texts: Vec<String> = cells.iter().take(MOST_CELLS).map(ToString::to_string).collect();
        match cells.len() {
            0 => {}
            1 => texts.push(format!("{file}: 1 cell cannot be read; {of_one}")),
            count => texts.push(format!("{file}: {count} cells cannot be read; {of_several}")),
        }
        texts
    };
    let mut texts = list(
        &register.unread,
        "its value is treated as unknown, so its winding is judged on the strict side",
        "their values are treated as unknown, so their windings are judged on the strict side",
    );
    texts.extend(list(
        &register.ignored,
        "no rule reads this column, so the answers are the same",
        "no rule reads these columns, so the answers are the same",
    ));
    let rows: Vec<Problem> = register.unnamed.iter().map(|(_, why)| why.clone()).collect();
    texts.extend(rows.iter().take(MOST_CELLS).map(ToString::to_string));
    let so = "windings that are not in the register are judged on the strict side, because it may be about one of them";
    match rows.len() {
        0 => {}
        1 => texts.push(format!("{file}: 1 row names no winding for certain; {so}")),
        count => texts
            .push(format!("{file}: {count} rows name no winding for certain; {}", so.replace("it may", "they may"))),
    }
    match register.repeated {
        0 => {}
        1 => texts.push(format!("{file}: 1 row says the same as an earlier one of its winding")),
        count => texts.push(format!("{file}: {count} rows say the same as an earlier one of their winding")),
    }
    texts
}

/// What a history without temperatures of the winding lacks; where a column that was left alone may hold them, which.
#[must_use]
pub fn lacks_temperatures(ledger: &InputLedger) -> Option<String> {
    // Where no row is read, other things come first.
    if ledger.columns.has_winding_temp() || ledger.accepted == 0 {
        return None;
    }
    let lacks = format!(
        "{}: there is no column of winding temperatures, so its readings cannot be brought to one temperature",
        ledger.name()
    );
    let unread = &ledger.columns.not_understood;
    let like: Vec<&str> =
        unread.iter().map(String::as_str).filter(|name| may_be_winding_temperature(name)).take(MOST_LIKE).collect();
    let of_air = unread.iter().find(|name| may_be_air_temperature(name));
    Some(if let (true, Some(name)) = (like.is_empty(), of_air) {
        format!(
            "{lacks}\nhint: add a column winding_temp_c, or winding_temp_f; if {name} is the temperature of the air, say so under [columns] in \
             groundwall.toml or the policy file: \"{name}\" = \"air_temp_c\""
        )
    } else if like.is_empty() {
        format!("{lacks}\nhint: add a column winding_temp_c, or winding_temp_f")
    } else {
        let scale = |name: &str| match aliases::units(name).and_then(|units| units.scale) {
            Some(TemperatureScale::Fahrenheit) => 'f',
            Some(TemperatureScale::Celsius) | None => 'c',
        };
        let lines: Vec<String> =
            like.iter().map(|name| format!("\"{name}\" = \"winding_temp_{}\"", scale(name))).collect();
        format!(
            "{lacks}; is it {}?\n\
             hint: if it is that of the winding, say so under [columns] in groundwall.toml or the policy file: {}; if it is that of the air, \
             say air_temp_{} there",
            like.join(" or "),
            lines.join(" or "),
            scale(like[0])
        )
    })
}

/// Of fewer tests, a sheet of one day, nothing is said.
const LEAST_TESTS: u64 = 10;

/// What a history lacks that says nothing of the checks before its tests; said once a file.
#[must_use]
pub fn lacks_checks(ledger: &InputLedger) -> Option<String> {
    const CHECKS: [Item; 6] =
        [Item::ZeroCheck, Item::OpenCheck, Item::Battery, Item::CalibrationDue, Item::SourceCheck, Item::ProvedDead];
    let is_check = |column: &Column| match column {
        Column::LeadCheck => true,
        Column::Procedure(item) => CHECKS.contains(item),
        _ => false,
    };
    if ledger.accepted < LEAST_TESTS || ledger.columns.known.iter().any(|(_, column)| is_check(column)) {
        return None;
    }
    let names: Vec<&str> = CHECKS.iter().map(|item| item.name()).collect();
    Some(format!(
        "{}: no column says whether leads, tester and circuit were checked before the tests, so the readings are believed as they are\n\
         hint: columns that say it: lead_check, {}",
        ledger.name(),
        names.join(", ")
    ))
}

/// So many columns that may hold temperatures are named.
const MOST_LIKE: usize = 3;

/// Whether a header that was not understood mentions a temperature, and not that of something else.
fn may_be_winding_temperature(header: &str) -> bool {
    names_temperature(header)
        && !has_any(header, AIR)
        && !has_any(header, &["bearing", "oil", "cool", "water", "attempt"])
}

/// Parts of words for what is around a machine.
const AIR: &[&str] = &[
    "air", "amb", "room", "omg", "umg", "raum", "luft", "aire", "aria", "ext", "außen", "hall", "pièce", "sala",
    "lucht",
];

fn may_be_air_temperature(header: &str) -> bool {
    names_temperature(header) && has_any(header, AIR)
}

fn names_temperature(header: &str) -> bool {
    has_any(header, &["temp", "tmp", "°", "deg c", "deg f"])
}

fn has_any(header: &str, words: &[&str]) -> bool {
    let header = header.to_lowercase();
    words.iter().any(|word| header.contains(word))
}

/// The sentence about a winding that was tested and is not in the register.
#[must_use]
pub fn unregistered(register: &Register, winding: &str) -> String {
    let near = register.written_otherwise(winding).map_or_else(String::new, |name| {
        format!(
            "\nhint: the register has {}; write the name alike in both files, or name {} beside it under aliases",
            shown(name),
            shown(winding)
        )
    });
    format!(
        "{}: winding {} is not in the register; it is judged with what is known{near}",
        register.file,
        shown(winding)
    )
}

/// The rule that most rows break, shown by the first of them, with what to do; nothing where rows break many rules alike.
fn commonest_reason(ingested: &Ingested) -> Option<Problem> {
    /// A column and the rule that its cell breaks.
    type Rule<'r> = (&'r str, &'r str);
    /// A row and the fault in it.
    type Place = (usize, usize);
    let mut rows: HashMap<Rule<'_>, (usize, Place)> = HashMap::new();
    for (place, rejection) in ingested.rejections.iter().enumerate() {
        let rules = rejection.faults.iter().map(|fault| (fault.column, fault.rule));
        for (i, rule) in rules.clone().enumerate() {
            if !rules.clone().take(i).any(|other| other == rule) {
                rows.entry(rule).or_insert((0, (place, i))).0 += 1;
            }
        }
    }
    // Of equals the first fault of the first row.
    let (rule, (count, (first, _))) = rows.into_iter().max_by_key(|(_, (count, first))| (*count, Reverse(*first)))?;
    let all = ingested.rejections.len();
    if 2 * count < all {
        return None;
    }
    let rejection = ingested.rejections.iter().nth(first)?;
    let fault = rejection.faults.iter().find(|fault| (fault.column, fault.rule) == rule)?;
    let (message, hint) = (ingested.sentence(rejection.origin, fault), fault.hint.to_owned());
    let message = if count > 1 { format!("{message} ({count} of the {all} rows)") } else { message };
    Some(Problem { message, hint: Some(hint) })
}

/// What leads to the reasons of all rejected rows.
const ALL_REASONS: &str = "`groundwall check` says why each row was rejected";

/// Whether there was anything to judge: histories of which every row is rejected are unreadable, and nothing is written of them.
///
/// # Errors
///
/// A [`Failure`] with the reason of most rows.
pub fn must_hold_a_test(ingested: &Ingested, strict: bool) -> Result<(), Failure> {
    if ingested.rejections.is_empty() || ingested.inputs.iter().any(|ledger| ledger.accepted > 0) {
        return Ok(());
    }
    let message = match ingested.rejections.len() {
        1 => "the only row was rejected, so nothing is judged".to_owned(),
        count => format!("all {count} rows were rejected, so nothing is judged"),
    };
    let nothing = Problem { message, hint: Some(ALL_REASONS.to_owned()) };
    let problems = commonest_reason(ingested).into_iter().chain([nothing]).collect();
    Failure::of_problems(problems)
        .map_or(Ok(()), |failure| Err(if strict { failure.of_rejected_rows() } else { failure }))
}

/// What is said of series, so many with so many tests, that have no test until the as-of date and are not judged.
///
/// # Errors
///
/// A [`Failure`] when there is no other series.
pub fn begun_after(
    ingested: &Ingested,
    (series, tests): (usize, usize),
    as_of: NaiveDate,
) -> Result<Option<String>, Failure> {
    if series > 0 && ingested.series.is_empty() {
        let message = format!("every test is later than {as_of}, so nothing is judged");
        return Err(Failure::usage(message).hint("name a later day with --as-of"));
    }
    let their = match tests {
        1 => "1 later test".to_owned(),
        count => format!("{count} later tests"),
    };
    Ok(match series {
        0 => None,
        1 => Some(format!("1 series has no test until {as_of} and is not judged: {their}")),
        count => Some(format!("{count} series have no test until {as_of} and are not judged: {their}")),
    })
}

/// Whether the minimum of a series is assumed, because nothing is known of its machine.
#[must_use]
pub fn is_unrated(series: &SeriesAssessment) -> bool {
    series.findings.iter().any(|finding| finding.code == Code::MinimumUnknown)
}

/// What a first history often lacks, and what to do about it. `unrated` is the number of series whose minimum is assumed.
#[must_use]
pub fn lacking(ingested: &Ingested, has_register: bool, unrated: usize) -> Vec<String> {
    let mut texts: Vec<String> = ingested.inputs.iter().filter_map(lacks_temperatures).collect();
    if !has_register && unrated > 0 {
        texts.push(
            "there is no register, so the minimum of every winding is assumed\n\
             hint: list them in a CSV file with the columns winding, rated_volts, construction, insulation, year_made, \
             and name it with --register"
                .to_owned(),
        );
    }
    texts
}

/// How the reading went, to be said beside a result; rejected rows are counted here and listed by `check`.
#[must_use]
pub fn remarks(ingested: &Ingested, register: Option<&Register>) -> Vec<String> {
    let mut texts = Vec::new();
    for ledger in &ingested.inputs {
        texts.extend(ledger.remarks.iter().cloned());
        if ledger.accepted < ledger.rows {
            texts.push(counts(ledger));
        }
        texts.extend(left_alone(&ledger.name(), &ledger.columns.left_alone));
    }
    // Where nothing is left to judge, the failure says why.
    if !ingested.rejections.is_empty() && must_hold_a_test(ingested, false).is_ok() {
        texts.extend(commonest_reason(ingested).map(|reason| reason.to_string()));
        texts.push(format!("hint: {ALL_REASONS}"));
    }
    texts.extend(of_names(ingested, register));
    texts
}

/// What is said about the names of windings: those written in several ways, and those that the register lacks.
#[must_use]
pub fn of_names(ingested: &Ingested, register: Option<&Register>) -> Vec<String> {
    let tested: BTreeSet<&str> = ingested.series.windings().collect();
    let mut texts: Vec<String> = alike(&tested)
        .into_iter()
        .map(|names| {
            let names: Vec<String> = names.into_iter().map(shown).collect();
            format!(
                "{}: one winding written in several ways? each is judged by its own tests\n\
                 hint: write the name alike in all rows, or name the others under aliases in the register or [names] in groundwall.toml",
                names.join(", ")
            )
        })
        .collect();
    texts.extend(ingested.names.sentences(&ingested.other_names));
    let Some(register) = register else { return texts };
    texts.extend(of_register(register));
    let unknown = register.unregistered(tested.iter().copied());
    texts.extend(unknown.into_iter().map(|winding| unregistered(register, winding)));
    texts
}

/// Names that differ only by case, blanks, marks, leading zeros or Unicode form.
fn alike<'t>(tested: &BTreeSet<&'t str>) -> Vec<Vec<&'t str>> {
    let mut groups: BTreeMap<String, Vec<&str>> = BTreeMap::new();
    for name in tested {
        groups.entry(bare(name)).or_default().push(name);
    }
    groups.into_values().filter(|names| names.len() > 1).collect()
}

/// How many windings of the register no test names, and which.
#[must_use]
pub fn untested(ingested: &Ingested, register: &Register) -> Option<String> {
    let tested: BTreeSet<&str> = ingested.series.windings().collect();
    let missing: Vec<&String> =
        register.nameplates().keys().filter(|winding| !tested.contains(winding.as_str())).collect();
    let names: Vec<String> = missing.iter().take(MOST_NAMED).map(|name| shown(name)).collect();
    let more =
        if missing.len() > MOST_NAMED { format!(" and {} more", missing.len() - MOST_NAMED) } else { String::new() };
    let what = match missing.len() {
        0 => return None,
        1 => "1 winding of the register has no test and is not judged".to_owned(),
        count => format!("{count} windings of the register have no test and are not judged"),
    };
    Some(format!("{}: {what}: {}{more}", register.file, names.join(", ")))
}

/// So many windings are named.
const MOST_NAMED: usize = 5;

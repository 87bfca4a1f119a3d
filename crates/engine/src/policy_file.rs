//! The policy file: read with the line of every fault, written as a template that reads back to the default policy.
//!
//! Which keys there are, their ranges, meanings and sources all come from [`groundwall::policy::keys::KEYS`].

use crate::error::{Failure, Problem, shown};
use crate::ingest::mapping::Mapping;
use crate::similar::closest;
use groundwall::policy::keys::{Disallowed, KEYS, Key, Value};
use groundwall::policy::{MinimumChoice, Policy};
use std::io::{self, Write};
use std::ops::Range;
use toml_edit::{Document, Item, TableLike};

/// The section that says what the site's headers stand for.
const COLUMNS: &str = "columns";

/// Reads the bytes of a policy file with its `[columns]`: what the site's headers stand for. Keys that are not in it keep
/// their default.
///
/// # Errors
///
/// A [`Failure`] that lists everything that is wrong with it.
pub fn read(file: &str, bytes: Vec<u8>) -> Result<(Policy, Mapping), Failure> {
    let text = String::from_utf8(bytes).map_err(|_| {
        Failure::usage(format!("{file}: this file is not text in UTF-8")).hint("save it as plain text in UTF-8")
    })?;
    parse_with_columns(file, &text)
}

/// Reads the text of a policy file.
///
/// # Errors
///
/// As [`read`].
pub fn parse(file: &str, text: &str) -> Result<Policy, Failure> {
    parse_with_columns(file, text).map(|(policy, _)| policy)
}

/// Reads the text of a policy file with its `[columns]`.
///
/// # Errors
///
/// As [`read`].
pub fn parse_with_columns(file: &str, text: &str) -> Result<(Policy, Mapping), Failure> {
    let lines = Lines::of(text);
    must_not_nest(file, text)?;
    let document = Document::parse(text).map_err(|error| {
        let line = lines.at(error.span());
        let message = error.message().trim().lines().collect::<Vec<_>>().join(", ");
        Failure::usage(format!("{file}:{line}: the policy is not readable: {message}"))
            .hint("a line is name = value under a [section]; `groundwall policy` writes a template")
    })?;
    let mut reader =
        Reader { file, lines, policy: Policy::default(), mapping: Mapping::default(), problems: Vec::new() };
    for (section, item) in document.iter() {
        let span = document.key(section).and_then(toml_edit::Key::span);
        match item.as_table_like() {
            Some(table) if KEYS.iter().any(|key| key.section == section) => reader.section(section, table),
            Some(table) if section == COLUMNS => reader.columns(table),
            Some(_) => reader.unknown_section(section, item.span().or(span)),
            None => reader.outside(section, span),
        }
    }
    if reader.policy.minimum == MinimumChoice::Fixed && reader.policy.fixed_minimum.is_none() {
        let span = document.get("minimum").and_then(Item::as_table_like).and_then(|table| table.key("rule")?.span());
        reader.problem(
            span,
            "minimum.rule is \"fixed\" and minimum.fixed_mohm is \"none\"; a fixed minimum needs its value".to_owned(),
            "write the minimum in MΩ as fixed_mohm".to_owned(),
        );
    }
    match Failure::of_problems(reader.problems) {
        Some(failure) => Err(failure),
        None => Ok((reader.policy, reader.mapping)),
    }
}

/// A key of ours has two parts; a name of the site's that is not quoted may have a few more.
const MOST_PARTS: usize = 8;

/// Refuses text with a key of many parts before it is parsed: each part is a table of its own, of hundreds of bytes.
///
/// # Errors
///
/// A [`Failure`] with the line of the key.
pub fn must_not_nest(file: &str, text: &str) -> Result<(), Failure> {
    let nests = |line: &str| {
        let (mut points, mut quote, mut chars) = (0, None, line.chars());
        while let Some(c) = chars.next() {
            match (quote, c) {
                (Some('"'), '\\') => drop(chars.next()),
                (Some(open), _) if open == c => quote = None,
                (Some(_), _) => {}
                (None, '"' | '\'') => quote = Some(c),
                (None, '#') => break,
                (None, '.') => points += 1,
                (None, _) if c.is_ascii_alphanumeric() || matches!(c, '_' | '-' | ' ' | '\t') => {}
                (None, _) => points = 0,
            }
            if points >= MOST_PARTS {
                return true;
            }
        }
        false
    };
    match text.lines().position(nests) {
        None => Ok(()),
        Some(at) => Err(Failure::usage(format!(
            "{file}:{}: a name of more than {MOST_PARTS} parts with points between them",
            at + 1
        ))
        .hint("put a name that holds points between quotes")),
    }
}

struct Reader<'t> {
    file: &'t str,
    lines: Lines,
    policy: Policy,
    mapping: Mapping,
    problems: Vec<Problem>,
}

impl Reader<'_> {
    fn problem(&mut self, span: Option<Range<usize>>, message: String, hint: String) {
        let place = format!("{}:{}", self.file, self.lines.at(span));
        self.problems.push(Problem { message: format!("{place}: {message}"), hint: Some(hint) });
    }

    fn section(&mut self, section: &str, table: &dyn TableLike) {
        for (name, item) in table.iter() {
            let span = table.key(name).and_then(toml_edit::Key::span);
            match Key::find(section, name) {
                Some(key) => self.value(key, item, span),
                None => self.unknown_key(section, name, span),
            }
        }
    }

    fn columns(&mut self, table: &dyn TableLike) {
        for (header, item) in table.iter() {
            let outcome = match item.as_str() {
                Some(name) => self.mapping.add(header, name),
                None => Err("it must be the name of a column between quotes".to_owned()),
            };
            if let Err(rule) = outcome {
                let span = table.key(header).and_then(toml_edit::Key::span);
                let message = format!("columns.\"{}\" is {}; {rule}", shown(header), shown(item.to_string().trim()));
                self.problem(span, message, "`groundwall check --suggest` writes this section".to_owned());
            }
        }
    }

    fn value(&mut self, key: &Key, item: &Item, span: Option<Range<usize>>) {
        let value = match item.as_value() {
            Some(toml_edit::Value::Integer(number)) => Some(Value::Number(*number.value() as f64)),
            Some(toml_edit::Value::Float(number)) => Some(Value::Number(*number.value())),
            Some(toml_edit::Value::String(word)) => Some(Value::Word(word.value().clone())),
            _ => None,
        };
        let outcome =
            value.map_or_else(|| Err(Disallowed { rule: key.kind.rule() }), |value| key.set(&mut self.policy, &value));
        if let Err(Disallowed { rule }) = outcome {
            let found = shown(item.to_string().trim());
            let default = written(&key.get(&Policy::default()));
            self.problem(
                span,
                format!("{}.{} is {found}; it must be {rule}", key.section, key.name),
                format!("the default is {default} ({})", key.meaning.trim_end_matches('.')),
            );
        }
    }

    fn unknown_key(&mut self, section: &str, name: &str, span: Option<Range<usize>>) {
        let hint = home_of(name).unwrap_or_else(|| {
            let names = || KEYS.iter().filter(|key| key.section == section).map(|key| key.name);
            match closest(name, names(), 0.6).first() {
                Some(near) => format!("the closest key is {near}"),
                None => format!("the keys of [{section}] are {}", names().collect::<Vec<_>>().join(", ")),
            }
        });
        self.problem(span, format!("{section}.{} is not a key of the policy", shown(name)), hint);
    }

    fn unknown_section(&mut self, section: &str, span: Option<Range<usize>>) {
        let hint = match closest(section, sections().into_iter(), 0.6).first() {
            Some(near) => format!("the closest section is [{near}]"),
            None => format!("the sections are {}", sections().join(", ")),
        };
        self.problem(span, format!("[{}] is not a section of the policy", shown(section)), hint);
    }

    fn outside(&mut self, name: &str, span: Option<Range<usize>>) {
        let hint = home_of(name).unwrap_or_else(|| {
            let all = [sections(), vec!["columns"]].concat().join("], [");
            format!("every key belongs under its section: [{all}]")
        });
        self.problem(span, format!("{} is outside the sections of the policy", shown(name)), hint);
    }
}

/// Where a key that stands in the wrong section belongs.
fn home_of(name: &str) -> Option<String> {
    let key = KEYS.iter().find(|key| key.name == name)?;
    Some(format!("{name} belongs under [{}]", key.section))
}

fn sections() -> Vec<&'static str> {
    let mut sections: Vec<&str> = KEYS.iter().map(|key| key.section).collect();
    sections.dedup();
    sections
}

/// Line of a text on which a part of it begins, from one.
#[must_use]
pub fn line_of(text: &str, span: Option<Range<usize>>) -> usize {
    Lines::of(text).at(span)
}

/// Where the lines of a text begin.
struct Lines(Vec<usize>);

impl Lines {
    fn of(text: &str) -> Self {
        Self(text.bytes().enumerate().filter(|(_, byte)| *byte == b'\n').map(|(at, _)| at + 1).collect())
    }

    /// The number of the line that a span begins on.
    fn at(&self, span: Option<Range<usize>>) -> usize {
        let begin = span.map_or(0, |span| span.start);
        self.0.partition_point(|start| *start <= begin) + 1
    }
}

fn written(value: &Value) -> String {
    match value {
        Value::Number(number) => format!("{number}"),
        Value::Word(word) => format!("\"{word}\""),
    }
}

/// Writes the commented template.
///
/// # Errors
///
/// That of the writer.
pub fn write_template(out: &mut dyn Write) -> io::Result<()> {
    writeln!(
        out,
        "# Policy of groundwall: the site's limits and intervals. A key that is left out has the value shown here."
    )?;
    writeln!(out, "# Change what the site decides otherwise, and write down why.")?;
    let policy = Policy::default();
    let mut section = "";
    for key in KEYS {
        if key.section != section {
            section = key.section;
            writeln!(out, "\n[{section}]")?;
        } else {
            writeln!(out)?;
        }
        writeln!(out, "# {}", key.meaning)?;
        writeln!(out, "# Allowed: {}. Source: {}.", key.kind.rule(), key.source.trim_end_matches('.'))?;
        writeln!(out, "{} = {}", key.name, written(&key.get(&policy)))?;
    }
    writeln!(
        out,
        "\n# What the headers of the site's files stand for; `groundwall check --suggest` writes this section."
    )?;
    writeln!(out, "# [columns]\n# \"Wert nach 1 Min\" = \"r_60s\"\n# \"Old number\" = \"-\"")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refusal(text: &str) -> String {
        parse("p.toml", text).err().map(|failure| failure.to_string()).unwrap_or_default()
    }

    #[test]
    fn the_template_reads_back_to_the_default_policy() {
        let mut template = Vec::new();
        assert!(write_template(&mut template).is_ok());
        let template = String::from_utf8_lossy(&template).into_owned();
        assert_eq!(parse("p.toml", &template), Ok(Policy::default()));
        for key in KEYS {
            assert!(template.contains(&format!("\n{} = ", key.name)), "{}", key.name);
            assert!(template.contains(key.meaning) && template.contains(key.source.trim_end_matches('.')));
        }
    }

    #[test]
    fn values_are_taken_and_the_rest_keeps_its_default() {
        let policy = parse("p.toml", "[decision]\nhorizon_days = 730\n[readings]\nfull_scale_mohm = 2000.0\n");
        let policy = policy.unwrap_or_default();
        assert_eq!(policy.horizon_days, 730);
        assert_eq!(policy.full_scale.map(|r| r.as_megohms()), Some(2000.0));
        assert_eq!(policy.interval_days, Policy::default().interval_days);
        assert_eq!(parse("p.toml", "decision = { horizon_days = 730 }").map(|p| p.horizon_days), Ok(730));
        assert_eq!(parse("p.toml", ""), Ok(Policy::default()));
    }

    #[test]
    fn many_faults_cost_no_more_each_than_one() {
        let unknown: String = (0..30_000).map(|i| format!("no_such_key_{i} = 1\n")).collect();
        let failure = parse("p.toml", &format!("[decision]\n{unknown}")).err();
        let last = failure.and_then(|failure| Some(failure.problems().last()?.message.clone()));
        assert_eq!(last.as_deref(), Some("p.toml:30001: decision.no_such_key_29999 is not a key of the policy"));
    }

    #[test]
    fn every_fault_has_its_line_its_rule_and_what_to_do() {
        assert_eq!(
            refusal(
                "[decision]\nhorizon_days = 0\n# remark\nhorizn_days = 3\nhold_probability = \"x\"\nreference_c = 3\n"
            ),
            "p.toml:2: decision.horizon_days is 0; it must be a whole number from 1 to 3650\n\
             hint: the default is 365 (Planning horizon, days: usually the time to the next outage)\n\
             p.toml:4: decision.horizn_days is not a key of the policy\n\
             hint: the closest key is horizon_days\n\
             p.toml:5: decision.hold_probability is \"x\"; it must be a number from 0.01 to 0.99\n\
             hint: the default is 0.5 (hold: the level is below the minimum today with more than this probability)\n\
             p.toml:6: decision.reference_c is not a key of the policy\n\
             hint: reference_c belongs under [temperature]"
        );
        assert_eq!(
            refusal("horizon_days = 3\n[decisions]\n"),
            "p.toml:1: horizon_days is outside the sections of the policy\n\
             hint: horizon_days belongs under [decision]\n\
             p.toml:2: [decisions] is not a section of the policy\n\
             hint: the closest section is [decision]"
        );
        assert_eq!(
            refusal("[minimum]\nrule = \"fixed\"\n"),
            "p.toml:2: minimum.rule is \"fixed\" and minimum.fixed_mohm is \"none\"; a fixed minimum needs its value\n\
             hint: write the minimum in MΩ as fixed_mohm"
        );
        for text in [
            "[decision]\nhorizon_days = nan",
            "[decision]\nhorizon_days = inf",
            "[decision.horizon_days]",
            "[[decision]]",
        ] {
            assert!(!refusal(text).is_empty(), "{text}");
        }
        assert!(refusal("[decision]\nhorizon_days = [").starts_with("p.toml:2: the policy is not readable: "));
    }
}

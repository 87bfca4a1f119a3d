//! One input from one seed: bytes flipped, fields dropped, swapped and doubled, units and signs altered, random characters.

use super::archive::stored;
use super::dice::Dice;
use super::seeds::Seed;
use std::io::Write as _;

/// Most mutations of one input.
const MOST_MUTATIONS: usize = 8;
/// Texts put into cells: units, signs, numbers at every edge, words, quotes, formulas.
const WORDS: [&str; 56] = [
    "MΩ",
    "GΩ",
    " kΩ",
    "mΩ",
    "M\u{2126}",
    "ohm",
    "T",
    "k",
    "furlong",
    ">",
    "<",
    ">=",
    "≤",
    "-",
    "−",
    "+",
    "OL",
    "∞",
    "inf",
    "-inf",
    "NaN",
    "0",
    "-0",
    "1e308",
    "1e-308",
    "1e999",
    "99999999999999999999",
    "1,234.5",
    "1.234,5",
    "0.000001",
    "1e5",
    "°C",
    "°F",
    "-60",
    "250",
    "9999-12-31",
    "0000-00-00",
    "2025-02-29",
    "2026-01-05T23:59:59",
    "46000",
    "ok",
    "failed",
    "rewound",
    "commissioned",
    "U-earth",
    "winding+cable",
    "\"",
    "\"\"",
    "\"a\nb\"",
    "\r",
    "=1+1",
    "'",
    "\u{feff}",
    "\0",
    "\u{202e}",
    "😀",
];

/// Makes one input.
pub(crate) fn input(seeds: &[Seed], dice: &mut Dice) -> Vec<u8> {
    match dice.pick(seeds) {
        Seed::Text(text) => {
            let mut bytes = text.clone();
            mutate(&mut bytes, seeds, dice);
            bytes
        }
        Seed::Wide(text) => {
            let mut bytes = text.clone();
            mutate(&mut bytes, seeds, dice);
            let little = dice.one_in(2);
            let units = String::from_utf8_lossy(&bytes).encode_utf16().collect::<Vec<u16>>();
            let turned = |unit: &u16| if little { unit.to_le_bytes() } else { unit.to_be_bytes() };
            [0xFEFF].iter().chain(&units).flat_map(turned).collect()
        }
        Seed::Packed(text) => {
            let mut bytes = text.clone();
            mutate(&mut bytes, seeds, dice);
            let mut packed = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::fast());
            // Writing to memory cannot fail.
            let _ = packed.write_all(&bytes);
            let mut bytes = packed.finish().unwrap_or_default();
            if dice.one_in(3) {
                flip(&mut bytes, dice);
            }
            bytes
        }
        Seed::Whole(bytes) => {
            let mut bytes = bytes.clone();
            for _ in 0..=dice.below(MOST_MUTATIONS) {
                flip(&mut bytes, dice);
            }
            bytes
        }
        Seed::Parts(parts) => {
            let mut parts = parts.clone();
            for _ in 0..=dice.below(3) {
                let place = dice.below(parts.len());
                if let Some((_, part)) = parts.get_mut(place) {
                    mutate(part, seeds, dice);
                }
            }
            stored(&parts)
        }
    }
}

fn mutate(bytes: &mut Vec<u8>, seeds: &[Seed], dice: &mut Dice) {
    for _ in 0..=dice.below(MOST_MUTATIONS) {
        match dice.below(15) {
            0 | 1 => flip(bytes, dice),
            2 => drop_span(bytes, dice),
            3 => double_span(bytes, dice),
            4 => swap_fields(bytes, dice),
            5 => on_a_field(bytes, |_, _| Vec::new(), dice),
            6 => on_a_field(bytes, |field, _| [field, field].concat(), dice),
            7 | 8 => on_a_field(bytes, |_, dice| dice.pick(&WORDS).as_bytes().to_vec(), dice),
            9 => on_a_field(bytes, |field, dice| [field, dice.pick(&WORDS).as_bytes()].concat(), dice),
            10 => on_a_field(bytes, |field, dice| [dice.pick(&WORDS).as_bytes(), field].concat(), dice),
            11 => insert_random_characters(bytes, dice),
            12 => swap_lines(bytes, dice),
            13 => line_ends(bytes, dice),
            _ => splice(bytes, seeds, dice),
        }
    }
}

fn flip(bytes: &mut [u8], dice: &mut Dice) {
    let place = dice.below(bytes.len());
    if let Some(byte) = bytes.get_mut(place) {
        *byte = if dice.one_in(2) { *byte ^ (1 << dice.below(8)) } else { dice.next() as u8 };
    }
}

fn span(length: usize, longest: usize, dice: &mut Dice) -> std::ops::Range<usize> {
    let start = dice.below(length);
    start..(start + dice.below(longest)).min(length)
}

fn drop_span(bytes: &mut Vec<u8>, dice: &mut Dice) {
    let longest = if dice.one_in(4) { bytes.len() } else { 12 };
    bytes.drain(span(bytes.len(), longest, dice));
}

fn double_span(bytes: &mut Vec<u8>, dice: &mut Dice) {
    let longest = if dice.one_in(4) { bytes.len() } else { 80 };
    let span = span(bytes.len(), longest, dice);
    let again = bytes[span.clone()].to_vec();
    bytes.splice(span.end..span.end, again);
}

/// The cells of a text, as far as separators and line ends tell.
fn fields(bytes: &[u8]) -> Vec<std::ops::Range<usize>> {
    let mut fields = Vec::new();
    let mut start = 0;
    for (at, byte) in bytes.iter().enumerate() {
        if matches!(byte, b',' | b';' | b'\t' | b'\n' | b'\r' | b'<' | b'>') {
            fields.push(start..at);
            start = at + 1;
        }
    }
    fields.push(start..bytes.len());
    fields
}

fn on_a_field(bytes: &mut Vec<u8>, change: impl Fn(&[u8], &mut Dice) -> Vec<u8>, dice: &mut Dice) {
    let field = dice.pick(&fields(bytes)).clone();
    let new = change(&bytes[field.clone()], dice);
    bytes.splice(field, new);
}

fn swap_fields(bytes: &mut Vec<u8>, dice: &mut Dice) {
    let fields = fields(bytes);
    let (a, b) = (dice.below(fields.len()), dice.below(fields.len()));
    let (first, second) = (fields[a.min(b)].clone(), fields[a.max(b)].clone());
    if first.end <= second.start {
        let (one, other) = (bytes[first.clone()].to_vec(), bytes[second.clone()].to_vec());
        bytes.splice(second, one);
        bytes.splice(first, other);
    }
}

fn insert_random_characters(bytes: &mut Vec<u8>, dice: &mut Dice) {
    let place = dice.below(bytes.len() + 1);
    let count = 1 + dice.below(6);
    let text: String = (0..count).filter_map(|_| char::from_u32(dice.below(0x11_0000) as u32)).collect();
    bytes.splice(place..place, text.into_bytes());
}

fn swap_lines(bytes: &mut Vec<u8>, dice: &mut Dice) {
    let mut lines: Vec<&[u8]> = bytes.split_inclusive(|byte| *byte == b'\n').collect();
    let (a, b) = (dice.below(lines.len()), dice.below(lines.len()));
    if !lines.is_empty() {
        lines.swap(a, b);
    }
    *bytes = lines.concat();
}

fn line_ends(bytes: &mut Vec<u8>, dice: &mut Dice) {
    let ends: [&[u8]; 4] = [b"\r\n", b"\r", b"\n\n", b",\n"];
    let end = *dice.pick(&ends);
    let lines: Vec<&[u8]> = bytes.split(|byte| *byte == b'\n').collect();
    *bytes = lines.join(end);
}

/// The rest of another seed behind the start of this one.
fn splice(bytes: &mut Vec<u8>, seeds: &[Seed], dice: &mut Dice) {
    let at = dice.below(bytes.len() + 1);
    if let Seed::Text(other) = dice.pick(seeds) {
        let from = dice.below(other.len());
        bytes.truncate(at);
        bytes.extend_from_slice(&other[from..]);
    }
}

/// The input again and again, to a length at which memory shows.
pub(crate) fn enlarge(bytes: &mut Vec<u8>, length: usize) {
    let once = bytes.clone();
    while !once.is_empty() && bytes.len() < length {
        bytes.extend_from_slice(&once);
    }
}

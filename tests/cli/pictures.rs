//! Pictures against references that people have looked at.
//!
//! `GROUNDWALL_PICTURES=write cargo test --release -p groundwall-cli --test cli pictures` writes them again; look at every one
//! before it is committed.

use super::world::{World, demo};
use std::path::{Path, PathBuf};

/// A part of the colour of a pixel may differ by so much without counting: rounding in the smoothing of an edge.
const SAME: u8 = 24;
/// Share of pixels that may differ by more.
const DIFFERENT: f64 = 0.002;

const PICTURES: [(&str, &[&str]); 4] = [
    ("trend", &["--winding", "A-212 stator"]),
    ("absorption", &["--winding", "R-201 stator"]),
    ("phases", &["--winding", "R-203 stator"]),
    ("fleet", &[]),
];

/// Width, height and the colours of the pixels: red, green, blue.
fn pixels(file: &[u8]) -> (u32, u32, Vec<u8>) {
    let mut decoder = png::Decoder::new(std::io::Cursor::new(file));
    decoder.set_transformations(png::Transformations::EXPAND);
    let mut reader = decoder.read_info().unwrap();
    let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
    let info = reader.next_frame(&mut pixels).unwrap();
    assert_eq!(info.color_type, png::ColorType::Rgb);
    pixels.truncate(info.buffer_size());
    (info.width, info.height, pixels)
}

/// Share of pixels that differ.
fn difference(one: &[u8], other: &[u8]) -> f64 {
    let differs = |(a, b): &(&[u8], &[u8])| a.iter().zip(*b).any(|(a, b)| a.abs_diff(*b) > SAME);
    let differing = one.chunks_exact(3).zip(other.chunks_exact(3)).filter(differs).count();
    differing as f64 / (one.len() / 3) as f64
}

fn drawn(kind: &str, more: &[&str]) -> Vec<u8> {
    let world = World::new(&[]);
    // The names of the inputs stand in the picture.
    for name in ["history.csv", "register.csv", "policy.toml"] {
        std::fs::copy(demo(name), world.path(name)).unwrap();
    }
    let args = ["chart", "history.csv", "--register", "register.csv", "--policy", "policy.toml", "-q"];
    let how = ["--as-of", "2026-11-25", "--kind", kind, "--size", "600x400", "--out", "a.png"];
    let run = world.run(&[&args[..], &how, more].concat());
    assert_eq!(run.status, 0, "{}", run.words);
    std::fs::read(world.path("a.png")).unwrap()
}

#[test]
fn the_demo_is_drawn_as_it_was_when_people_looked() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/cli/data/pictures");
    for (kind, more) in PICTURES {
        let reference: PathBuf = folder.join(format!("{kind}.png"));
        let now = drawn(kind, more);
        if std::env::var_os("GROUNDWALL_PICTURES").is_some_and(|value| value == "write") {
            std::fs::write(&reference, &now).unwrap();
        }
        let (then, now) = (pixels(&std::fs::read(&reference).unwrap()), pixels(&now));
        assert_eq!((now.0, now.1), (then.0, then.1), "{kind}");
        let share = difference(&now.2, &then.2);
        assert!(share <= DIFFERENT, "{kind}: {:.2} % of the pixels differ; see the head of this file", share * 100.0);
    }
}

#[test]
fn another_picture_is_told_apart() {
    let other = pixels(&drawn("trend", &["--winding", "A-213 stator"])).2;
    let one = pixels(&drawn("trend", &["--winding", "A-212 stator"])).2;
    assert!(difference(&one, &other) > 10.0 * DIFFERENT);
}

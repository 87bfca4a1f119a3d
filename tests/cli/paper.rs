//! The pack as one file to print.

use crate::world::{World, demo};

#[test]
fn the_pack_has_a_bookmark_and_two_pages_for_each_order() {
    let world = World::new(&[]);
    let (history, register) = (demo("history.csv"), demo("register.csv"));
    let make = |pages: &str, out: &str| {
        let file = format!("{out}.pdf");
        let args = ["report", &history, "--register", &register, "--as-of", "2026-11-25", "--out", out];
        let run = world.run(&[&args[..], &["--pages", pages, "--pdf", &file]].concat());
        assert_eq!(run.status, 0, "{}", run.words);
        assert!(run.words.contains(&format!("{file}: this is the pack in one file")), "{}", run.words);
        std::fs::read(world.path(&file)).unwrap()
    };
    let urgent = make("urgent", "one");
    let count = |bytes: &[u8], what: &[u8]| bytes.windows(what.len()).filter(|part| *part == what).count();
    // ISO 32000-1, 7.7.3.3: every page object says what it is and has a media box.
    assert!(count(&urgent, b"/MediaBox") > 2 * 12, "{}", count(&urgent, b"/MediaBox"));
    assert_eq!(count(&urgent, b"/Dest"), 12 + 1, "the list and every order have a bookmark");
    assert!(urgent == make("urgent", "two"), "the same input gives the same bytes");
    let all = make("all", "three");
    assert_eq!(count(&all, b"/Dest"), 50 + 1);
}

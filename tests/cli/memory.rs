//! What runs take of memory at their highest, as the system counts it. Each limit lies well below what was taken before the memory was
//! bounded, which stands beside it.
#![cfg(target_os = "linux")]

use crate::world::World;
use std::fmt::Write as _;
use std::fs;
use std::process::Stdio;
use std::time::Duration;

/// Runs on two threads and gives the status and the greatest resident memory in MiB.
fn peak(world: &World, args: &[&str]) -> (Option<i32>, u64) {
    let mut command = world.command(args);
    let silent = command.env("GROUNDWALL_THREADS", "2").stdout(Stdio::null()).stderr(Stdio::null());
    let mut child = silent.spawn().unwrap();
    let (account, mut kib) = (format!("/proc/{}/status", child.id()), 0_u64);
    loop {
        let text = fs::read_to_string(&account).unwrap_or_default();
        let highest =
            text.lines().find_map(|line| line.strip_prefix("VmHWM:")?.trim().strip_suffix(" kB")?.parse().ok());
        kib = kib.max(highest.unwrap_or(0));
        if let Some(status) = child.try_wait().unwrap() {
            return (status.code(), kib >> 10);
        }
        std::thread::sleep(Duration::from_millis(1));
    }
}

fn must_stay_below(mib: u64, history: &str, args: &[&str]) {
    let world = World::new(&[("h.csv", history)]);
    let (status, highest) = peak(&world, args);
    assert_eq!(status, Some(0), "{args:?}");
    assert!(highest < mib, "{args:?}: {highest} MiB for {} MiB of text", history.len() >> 20);
}

/// 200,000 rows of 22 bytes, 4 MiB. At 750 bytes a rejected row they took more than 150 MiB.
#[test]
fn a_rejected_row_takes_little_more_than_its_bytes() {
    let mut history = "winding,tested_on,r_60s\nP-0,2026-01-05,5\n".to_owned();
    for row in 0..200_000 {
        let _ = writeln!(history, "P-{},{:02}/{:02}/2024,5.25", row % 997, 1 + row % 12, 1 + row / 12 % 12);
    }
    must_stay_below(96, &history, &["check", "h.csv"]);
    must_stay_below(96, &history, &["check", "h.csv", "--rejects", "rejected.csv"]);
}

/// 12 MB between quotes that are never closed. Sixty bytes were taken for each of them: more than 600 MiB.
#[test]
fn a_huge_quoted_cell_takes_a_few_times_its_bytes() {
    let history = format!("winding,tested_on,r_60s\nP-1,2024-01-05,5\n\"{}", "\n".repeat(12_000_000));
    must_stay_below(128, &history, &["check", "h.csv"]);
}

/// 6000 windings. At 120 kB each they took 700 MiB; later eight kilobytes were kept for each.
#[test]
fn a_replay_keeps_little_of_a_winding() {
    let mut history = "winding,tested_on,r_60s,winding_temp_c\n".to_owned();
    for winding in 0..6000 {
        for year in 2019..2025 {
            let reading = 100 + (winding * 7 + year * 13) % 40;
            let _ = writeln!(history, "M-{winding:05},{year}-03-01,{reading},30");
        }
    }
    must_stay_below(48, &history, &["replay", "h.csv", "--as-of", "2024-06-01", "--every", "200"]);
}

/// A million bytes of readings below dates. At more than 800 bytes a reading they took some 220 MiB.
#[test]
fn a_sheet_with_dates_across_takes_little_for_each_reading() {
    let dates = (0..336).map(|day| format!("2020-{:02}-{:02}", 1 + day / 28, 1 + day % 28)).collect::<Vec<_>>();
    let mut history = format!("Motor,{}\n", dates.join(","));
    for motor in 0..750 {
        let _ = writeln!(history, "M-{motor}{}", ",412".repeat(dates.len()));
    }
    must_stay_below(144, &history, &["check", "h.csv"]);
}

/// 6000 connections of one winding. At 58 kB each they took 380 MiB.
#[test]
fn many_connections_of_one_winding_take_little_more_than_windings() {
    let mut history = "winding,tested_on,connection,r_60s\n".to_owned();
    for core in 0..6000 {
        let _ = writeln!(history, "A,2024-01-01,{core}-earth,5");
    }
    must_stay_below(96, &history, &["assess", "h.csv", "--as-of", "2024-06-01"]);
}

/// 100,000 rows that contradict each other, and 100,000 without a readable date. At a kilobyte and more each they took more than 150 MiB.
#[test]
fn rows_that_count_for_nothing_take_little_when_a_series_is_judged() {
    let mut history = "winding,tested_on,r_60s,note\nA,2024-02-05,5,\n".to_owned();
    for row in 0..100_000 {
        let _ = writeln!(history, "A,2024-01-01 08:00,{},{row}\nA,2024-13-01,{},{row}", row % 70 + 1, row % 60 + 1);
    }
    must_stay_below(128, &history, &["assess", "h.csv", "--as-of", "2024-06-01"]);
}

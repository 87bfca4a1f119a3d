//! The line of each row. Rows mostly follow each other line by line, so only the rows are kept where they do not.

/// Lines by row.
#[derive(Clone, Debug, Default)]
pub(super) struct Lines {
    /// The first row of each run of lines that follow each other, and its line.
    runs: Vec<(u32, u32)>,
}

impl Lines {
    /// Puts a line into the row after all others.
    pub(super) fn put(&mut self, row: u32, line: u32) {
        let follows = self.runs.last().is_some_and(|(first, at)| at.checked_add(row - first) == Some(line));
        if !follows {
            self.runs.push((row, line));
        }
    }

    /// The line of a row.
    pub(super) fn get(&self, row: u32) -> u32 {
        let run = self.runs.partition_point(|(first, _)| *first <= row);
        self.runs.get(run.wrapping_sub(1)).map_or(0, |(first, line)| line + (row - first))
    }

    /// Appends the lines of another table after so many rows.
    pub(super) fn append(&mut self, rows: u32, other: &Self) {
        other.runs.iter().for_each(|(first, line)| self.put(rows + first, *line));
    }

    /// Frees unused capacity.
    pub(super) fn shrink(&mut self) {
        self.runs.shrink_to_fit();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn filled(lines: &[u32]) -> Lines {
        let mut filled = Lines::default();
        (0..).zip(lines).for_each(|(row, line)| filled.put(row, *line));
        filled
    }

    proptest! {
        #[test]
        fn lines_come_back(steps in prop::collection::vec(0u32..4, 1..200), split in 0usize..200) {
            let lines: Vec<u32> = steps.iter().scan(2, |at, step| { *at += step; Some(*at) }).collect();
            let (first, second) = lines.split_at(split.min(lines.len()));
            let mut found = filled(first);
            found.append(first.len() as u32, &filled(second));
            for (row, line) in (0..).zip(&lines) {
                prop_assert_eq!(found.get(row), *line, "row {}", row);
            }
        }
    }

    #[test]
    fn lines_that_follow_each_other_are_one_run() {
        let lines: Vec<u32> = (2..50_000).chain(50_003..90_000).collect();
        let mut found = filled(&lines[..10_000]);
        found.append(10_000, &filled(&lines[10_000..]));
        assert_eq!(found.runs, [(0, 2), (49_998, 50_003)]);
        assert_eq!(filled(&[7, u32::MAX, 3]).get(2), 3);
    }
}

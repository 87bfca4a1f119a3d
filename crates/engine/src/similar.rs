//! Names that are written nearly alike.

/// Those of `names` that are at least `least` like `wanted` (1 is equal), best first.
#[must_use]
pub fn closest<'a>(wanted: &str, names: impl Iterator<Item = &'a str>, least: f64) -> Vec<&'a str> {
    let wanted = wanted.to_lowercase();
    let mut scored: Vec<(f64, &str)> = names
        .map(|name| (strsim::jaro_winkler(&wanted, &name.to_lowercase()), name))
        .filter(|(score, _)| *score >= least)
        .collect();
    scored.sort_by(|a, b| b.0.total_cmp(&a.0).then_with(|| a.1.cmp(b.1)));
    scored.into_iter().map(|(_, name)| name).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_most_similar_name_comes_first() {
        let names = ["notes.txt", "plant-b.csv", "plant.csv"];
        assert_eq!(closest("plnt.csv", names.into_iter(), 0.85), ["plant.csv", "plant-b.csv"]);
    }
}

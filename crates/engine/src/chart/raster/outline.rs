//! Outlines: closed rings of points, made of lines and cut into strips.

/// A point in pixels from the upper left corner.
pub(super) type P = (f32, f32);

/// The corners of the box around an outline.
pub(super) fn bounds(outline: &[P]) -> (P, P) {
    let low = outline.iter().fold((f32::MAX, f32::MAX), |m, p| (m.0.min(p.0), m.1.min(p.1)));
    let high = outline.iter().fold((f32::MIN, f32::MIN), |m, p| (m.0.max(p.0), m.1.max(p.1)));
    (low, high)
}

/// The part of an outline on one side of an upright line (Sutherland and Hodgman 1974).
pub(super) fn cut(outline: &[P], x: f32, keep_right: bool, kept: &mut Vec<P>) {
    kept.clear();
    let is_kept = |p: P| if keep_right { p.0 >= x } else { p.0 <= x };
    for (from, to) in outline.iter().zip(outline.iter().cycle().skip(1)) {
        if is_kept(*from) {
            kept.push(*from);
        }
        if is_kept(*from) != is_kept(*to) {
            let share = (x - from.0) / (to.0 - from.0);
            kept.push((x, from.1 + (to.1 - from.1) * share));
        }
    }
}

/// The outline of a line of some half width along points, corners mitred up to twice the width.
pub(super) fn outline_of(points: &[P], half: f32) -> Vec<P> {
    let mut path: Vec<P> = points.to_vec();
    path.dedup_by(|a, b| (a.0 - b.0).abs() + (a.1 - b.1).abs() < 0.02);
    if path.len() < 2 {
        return Vec::new();
    }
    let normal = |a: P, b: P| {
        let length = (b.0 - a.0).hypot(b.1 - a.1);
        (-(b.1 - a.1) / length, (b.0 - a.0) / length)
    };
    let (mut one, mut other) = (Vec::with_capacity(path.len() * 2), Vec::with_capacity(path.len()));
    for (i, at) in path.iter().enumerate() {
        let before = if i > 0 { normal(path[i - 1], *at) } else { normal(*at, path[i + 1]) };
        let after = if i + 1 < path.len() { normal(*at, path[i + 1]) } else { before };
        let sum = (before.0 + after.0, before.1 + after.1);
        let reach = half * 2.0 / (sum.0 * sum.0 + sum.1 * sum.1).max(0.5);
        one.push((at.0 + sum.0 * reach, at.1 + sum.1 * reach));
        other.push((at.0 - sum.0 * reach, at.1 - sum.1 * reach));
    }
    one.extend(other.into_iter().rev());
    one
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn strips_of_an_outline_make_up_the_whole() {
        // A star that crosses itself; twice its area is the sum of its cross products.
        let star = [(10.0, 90.0), (50.0, 0.0), (90.0, 90.0), (0.0, 30.0), (100.0, 30.0)];
        let area = |outline: &[P]| -> f32 {
            let edges = outline.iter().zip(outline.iter().cycle().skip(1));
            edges.map(|(a, b)| a.0 * b.1 - b.0 * a.1).sum()
        };
        let (mut half, mut strip, mut sum) = (Vec::new(), Vec::new(), 0.0);
        for i in 0..10_u8 {
            let from = f32::from(i) * 10.0;
            cut(&star, from, true, &mut half);
            cut(&half, from + 10.0, false, &mut strip);
            assert!(strip.iter().all(|p| p.0 >= from - 1e-3 && p.0 <= from + 10.001));
            sum += area(&strip);
        }
        assert!((sum - area(&star)).abs() < 0.5, "{sum} {}", area(&star));
    }
}

//! Whether the likelihood has a finite maximum, decided before it is looked for.
//!
//! Each observation is a row `a = (z, -y)` on directions `d = (dg, dt)` of the concave parameters. A direction along which
//! the likelihood never falls satisfies `a d = 0` for exact values, `a d >= 0` for lower bounds, `-a d >= 0` for upper
//! bounds, and `dt >= 0`. If one of them relaxes a bound, or sharpens sigma while exact values stay on the line, the
//! likelihood rises for ever. Directions of the exact rows are eliminated first; ordinary series, whose exact values
//! scatter, end there. What remains is a linear programme in at most a handful of unknowns.

use super::Observation;
use super::likelihood::Problem;
use core::fmt;

/// Rows are of length one; what is smaller than this is rounding.
const ROUNDING: f64 = 1e-10;
/// Exact values closer to a line than this share of their spread lie on it: Newton's steps would no longer see their scatter.
const ON_THE_LINE: f64 = 1e-7;
/// Pivots of the linear programme before it is given up as undecided.
const MOST_PIVOTS: usize = 2000;
/// Pivots by steepest gain before the rule that cannot cycle takes over.
const STEEP_PIVOTS: usize = 60;

/// Why a censored likelihood has no finite maximum.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoFiniteMaximum {
    /// Fewer observations than the model has parameters.
    TooFew {
        /// Observations given.
        found: usize,
        /// Observations needed: coefficients and sigma.
        needed: usize,
    },
    /// A line passes through every exact value and respects every bound, so sigma shrinks to zero.
    PerfectLine {
        /// Number of exact values.
        exact: usize,
    },
    /// Every observation is a bound on the same side, so the line moves away from all of them.
    OneSided {
        /// Number of bounds.
        bounds: usize,
    },
    /// A direction respects every observation: values above and below their bounds are separated by a line.
    Separated,
    /// There is no exact value and all bounds lie on one line, so sigma has nothing to be measured by.
    BoundsOnOneLine,
    /// The columns are combinations of one another where it matters.
    ColumnsUndetermined,
    /// Higher bounds are exceeded more often than lower ones, so sigma grows without limit.
    SpreadUnbounded,
}

impl fmt::Display for NoFiniteMaximum {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TooFew { found, needed } => {
                write!(f, "there are {found} observations; this model needs at least {needed}")
            }
            Self::PerfectLine { exact } => write!(
                f,
                "a line passes through all {exact} exact values and contradicts no bound; their scatter cannot be estimated"
            ),
            Self::OneSided { bounds } => write!(
                f,
                "all {bounds} observations are bounds on the same side; they say where the values are not, but not where they are"
            ),
            Self::Separated => write!(
                f,
                "a line separates the observations without a contradiction; its slope and scatter cannot be estimated"
            ),
            Self::BoundsOnOneLine => {
                write!(f, "there is no exact value and all bounds lie on one line; the scatter cannot be estimated")
            }
            Self::ColumnsUndetermined => {
                write!(f, "the columns are combinations of one another; their coefficients cannot be distinguished")
            }
            Self::SpreadUnbounded => {
                write!(f, "higher bounds are exceeded more often than lower ones; no finite scatter explains that")
            }
        }
    }
}

impl core::error::Error for NoFiniteMaximum {}

/// The reason for there being no maximum, if there is none.
pub(super) fn decide(problem: &Problem) -> Option<NoFiniteMaximum> {
    let size = problem.design.parameters + 1;
    let counts = problem.counts;
    let exact = unit_rows(problem, |o| matches!(o, Observation::Exact(_)));
    let spanned = orthonormal_span(exact, size, ON_THE_LINE);
    if spanned.len() == size {
        return None;
    }
    let free = complement(&spanned, size);
    let k = free.len();
    let into_free = |a: &[f64]| -> Vec<f64> { free.iter().map(|b| inner(a, b)).collect() };

    let bounds = unit_rows(problem, |o| !matches!(o, Observation::Exact(_)));
    let mut rows: Vec<Vec<f64>> = bounds.iter().map(|a| into_free(a)).collect();
    rows.retain(|c| inner(c, c).sqrt() > ROUNDING);
    let mut sharpening = vec![0.0; size];
    sharpening[size - 1] = 1.0;
    let sharper = into_free(&sharpening);
    // Sharpening sigma is a gain of its own only where there are exact values.
    let mut gain = vec![0.0; k];
    let own = if counts.exact > 0 { Some(&sharper) } else { None };
    for c in rows.iter().chain(own) {
        for (g, v) in gain.iter_mut().zip(c) {
            *g += v;
        }
    }
    let flat = rows.iter().chain(own).cloned().collect::<Vec<_>>();
    rows.push(sharper.clone());
    if rises(&rows, &gain) {
        return Some(if counts.exact > 0 && rises(&rows, &sharper) {
            NoFiniteMaximum::PerfectLine { exact: counts.exact }
        } else if counts.exact + counts.between == 0 && (counts.above == 0 || counts.below == 0) {
            NoFiniteMaximum::OneSided { bounds: counts.above + counts.below }
        } else {
            NoFiniteMaximum::Separated
        });
    }
    let felt = orthonormal_span(flat, k, ROUNDING);
    if felt.len() == k {
        return None;
    }
    let unfelt = complement(&felt, k);
    let touches_sigma = unfelt.iter().any(|d| inner(d, &sharper).abs() > 1e-8);
    Some(if touches_sigma { NoFiniteMaximum::BoundsOnOneLine } else { NoFiniteMaximum::ColumnsUndetermined })
}

/// Rows `a` of the chosen observations, each of length one and signed so that the likelihood wants `a d >= 0`.
fn unit_rows(problem: &Problem, chosen: impl Fn(&Observation) -> bool) -> Vec<Vec<f64>> {
    let mut rows = Vec::new();
    let mut push = |z: &[f64], sign: f64, y: f64| {
        let length = (inner(z, z) + y * y).sqrt();
        let mut row: Vec<f64> = z.iter().map(|v| sign * v / length).collect();
        row.push(-sign * y / length);
        rows.push(row);
    };
    for (i, o) in problem.observations.iter().enumerate().filter(|(_, o)| chosen(o)) {
        let z = problem.design.row(i);
        match *o {
            Observation::Exact(y) | Observation::Above(y) => push(z, 1.0, y),
            Observation::Below(y) => push(z, -1.0, y),
            Observation::Between { low, high } => {
                push(z, 1.0, low);
                push(z, -1.0, high);
            }
        }
    }
    rows
}

fn inner(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

/// An orthonormal basis of what the rows span, the longest remainder first; remainders up to `nothing` count for none.
fn orthonormal_span(mut rows: Vec<Vec<f64>>, size: usize, nothing: f64) -> Vec<Vec<f64>> {
    let mut basis: Vec<Vec<f64>> = Vec::with_capacity(size);
    while basis.len() < size {
        let longest = rows.iter().max_by(|a, b| inner(a, a).total_cmp(&inner(b, b))).cloned();
        let Some(unit) = longest.and_then(|row| normalised(row, &basis, nothing)) else {
            break;
        };
        for row in &mut rows {
            let share = inner(row, &unit);
            row.iter_mut().zip(&unit).for_each(|(r, u)| *r -= share * u);
        }
        basis.push(unit);
    }
    basis
}

/// The row made orthogonal to the basis once more and of length one; `None` if no more than `nothing` is left of it.
fn normalised(mut row: Vec<f64>, basis: &[Vec<f64>], nothing: f64) -> Option<Vec<f64>> {
    for unit in basis {
        let share = inner(&row, unit);
        row.iter_mut().zip(unit).for_each(|(r, u)| *r -= share * u);
    }
    let length = inner(&row, &row).sqrt();
    (length > nothing).then(|| row.into_iter().map(|v| v / length).collect())
}

/// An orthonormal basis of everything orthogonal to the given one.
fn complement(basis: &[Vec<f64>], size: usize) -> Vec<Vec<f64>> {
    let mut all = basis.to_vec();
    while all.len() < size {
        let candidates = (0..size).map(|j| {
            let mut unit = vec![0.0; size];
            unit[j] = 1.0;
            for b in &all {
                let share = inner(&unit, b);
                unit.iter_mut().zip(b).for_each(|(u, v)| *u -= share * v);
            }
            unit
        });
        let longest = candidates.max_by(|a, b| inner(a, a).total_cmp(&inner(b, b)));
        match longest.and_then(|row| normalised(row, &all, ROUNDING)) {
            Some(unit) => all.push(unit),
            None => break,
        }
    }
    all.split_off(basis.len())
}

/// Whether there is a direction with `rows d >= 0` and positive gain.
///
/// The simplex method on `d = u - v`, `0 <= u, v <= 1`. The origin is feasible, and the search stops at the first gain.
fn rises(rows: &[Vec<f64>], gain: &[f64]) -> bool {
    let k = gain.len();
    let width = 2 * k;
    let height = rows.len() + width;
    // Condensed tableau: one line per basic variable, its value last; the objective is the bottom line.
    let mut table: Vec<Vec<f64>> = Vec::with_capacity(height + 1);
    for c in rows {
        table.push(c.iter().map(|v| -v).chain(c.iter().copied()).chain([0.0]).collect());
    }
    for j in 0..width {
        let mut line = vec![0.0; width + 1];
        line[j] = 1.0;
        line[width] = 1.0;
        table.push(line);
    }
    let size = gain.iter().fold(0.0_f64, |m, g| m.max(g.abs()));
    if size <= ROUNDING {
        return false;
    }
    table.push(gain.iter().map(|g| -g / size).chain(gain.iter().map(|g| g / size)).chain([0.0]).collect());
    let mut outside: Vec<usize> = (0..width).collect();
    let mut inside: Vec<usize> = (width..width + height).collect();

    for pivot in 0..MOST_PIVOTS {
        let careful = pivot >= STEEP_PIVOTS;
        let bottom = &table[height];
        let hopeful = (0..width).filter(|&j| bottom[j] < -ROUNDING);
        let entering = if careful {
            hopeful.min_by_key(|&j| outside[j])
        } else {
            hopeful.min_by(|&a, &b| bottom[a].total_cmp(&bottom[b]))
        };
        let Some(entering) = entering else {
            return false;
        };
        let Some(leaving) = leaving_line(&table[..height], entering, &inside, careful) else {
            return false;
        };
        exchange(&mut table, leaving, entering);
        core::mem::swap(&mut outside[entering], &mut inside[leaving]);
        if table[height][width] > 1e-9 {
            return true;
        }
    }
    // Undecided: the fit goes ahead, and says so if it does not converge.
    false
}

/// The line that limits the entering variable most; among equals the one with the firmest pivot.
fn leaving_line(lines: &[Vec<f64>], entering: usize, inside: &[usize], careful: bool) -> Option<usize> {
    let mut best: Option<usize> = None;
    for (i, line) in lines.iter().enumerate() {
        let (step, value) = (line[entering], line[line.len() - 1].max(0.0));
        if step <= ROUNDING {
            continue;
        }
        let better = match best {
            None => true,
            Some(b) => {
                let (other, other_value) = (lines[b][entering], lines[b][line.len() - 1].max(0.0));
                let order = (value / step).total_cmp(&(other_value / other));
                order.is_lt() || (order.is_eq() && if careful { inside[i] < inside[b] } else { step > other })
            }
        };
        if better {
            best = Some(i);
        }
    }
    best
}

fn exchange(table: &mut [Vec<f64>], leaving: usize, entering: usize) {
    let pivot = table[leaving][entering];
    let mut line = core::mem::take(&mut table[leaving]);
    for v in &mut line {
        *v /= pivot;
    }
    line[entering] = 1.0 / pivot;
    for (i, other) in table.iter_mut().enumerate() {
        if i == leaving {
            continue;
        }
        let factor = other[entering];
        other[entering] = 0.0;
        for (j, (o, l)) in other.iter_mut().zip(&line).enumerate() {
            if j == entering {
                *o = -factor * l;
            } else {
                *o -= factor * l;
            }
        }
    }
    table[leaving] = line;
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cones_with_and_without_a_direction() {
        let cone = |rows: &[[f64; 2]]| {
            let rows: Vec<Vec<f64>> = rows.iter().map(|r| r.to_vec()).collect();
            let gain = [0, 1].map(|j| rows.iter().map(|r| r[j]).sum());
            rises(&rows, &gain)
        };
        assert!(cone(&[[1.0, 0.0], [0.0, 1.0], [-0.6, 0.8]]));
        assert!(!cone(&[[1.0, 0.0], [-0.6, 0.8], [-0.6, -0.8]]));
        // The cone is a single ray along the first axis.
        assert!(cone(&[[0.0, 1.0], [0.0, -1.0], [1.0, 0.0]]));
        assert!(!cone(&[[0.0, 1.0], [0.0, -1.0]]));
    }

    #[test]
    fn span_and_complement_fill_the_space() {
        let rows = vec![vec![1.0, 2.0, 3.0], vec![2.0, 4.0, 6.0 + 1e-13]];
        let span = orthonormal_span(rows, 3, ROUNDING);
        assert_eq!(span.len(), 1);
        let rest = complement(&span, 3);
        assert_eq!(rest.len(), 2);
        assert!(rest.iter().all(|r| inner(r, &span[0]).abs() < 1e-14));
        assert!(inner(&rest[0], &rest[1]).abs() < 1e-14);
    }
}

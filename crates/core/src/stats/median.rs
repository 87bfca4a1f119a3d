//! The middle of some values.

/// The value in the middle, or halfway between the two in the middle; none of no values.
pub(crate) fn median(mut values: Vec<f64>) -> Option<f64> {
    let (count, middle) = (values.len(), values.len() / 2);
    if count == 0 {
        return None;
    }
    let (below, upper, _) = values.select_nth_unstable_by(middle, f64::total_cmp);
    let lower = below.iter().copied().max_by(f64::total_cmp);
    Some(lower.filter(|_| count % 2 == 0).map_or(*upper, |lower| f64::midpoint(*upper, lower)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_median_is_the_middle_or_halfway_between_the_two_in_the_middle() {
        assert_eq!(median(vec![3.0, 1.0, 2.0]), Some(2.0));
        assert_eq!(median(vec![4.0, 1.0, 3.0, 2.0]), Some(2.5));
        assert_eq!(median(vec![9.0, 1.0, 2.0, 7.0, 100.0]), Some(7.0));
        assert_eq!(median(Vec::new()), None);
    }
}

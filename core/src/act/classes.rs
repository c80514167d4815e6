//! Classes of control left and of money at risk, for maps. Each has a letter: A is least trouble, E most.

/// Letters of the classes.
pub const LETTERS: [&str; 5] = ["A", "B", "C", "D", "E"];

/// Lower limits of control left, %, of classes A to D. More than 95 % is what keeps black-grass from increasing (published
/// advice on its population dynamics); the other limits are ours, no source.
pub const CONTROL_LIMITS: [f64; 4] = [95.0, 90.0, 80.0, 50.0];

/// Class of control left, %: 0 for A.
pub fn control_class(control: f64) -> usize {
    CONTROL_LIMITS.iter().filter(|limit| control < **limit).count()
}

/// What a class of control left means.
pub fn control_words(class: usize) -> String {
    match (class.checked_sub(1).and_then(|above| CONTROL_LIMITS.get(above)), CONTROL_LIMITS.get(class)) {
        (None, Some(low)) => format!("{low:.0} % and more"),
        (Some(high), Some(low)) => format!("{low:.0} to {high:.0} %"),
        (Some(high), None) => format!("less than {high:.0} %"),
        (None, None) => String::new(),
    }
}

/// Upper limits of money at risk a hectare of classes A to D: equal round steps such that the greatest value falls into the last
/// class or the one before.
pub fn money_limits(values: impl Iterator<Item = f64>) -> [f64; 4] {
    let most = values.fold(0.0, f64::max);
    let wanted = (most / 5.0).max(0.01);
    let power = libm::pow(10.0, libm::floor(libm::log10(wanted)));
    let step = [1.0, 2.0, 2.5, 5.0, 10.0].into_iter().map(|of| of * power).find(|step| *step >= wanted * (1.0 - 1e-9));
    let step = step.unwrap_or(10.0 * power);
    [1.0, 2.0, 3.0, 4.0].map(|times| times * step)
}

/// Class of money at risk: 0 for A. A value on a limit belongs to the class below it.
pub fn money_class(value: f64, limits: &[f64; 4]) -> usize {
    limits.iter().filter(|limit| value > **limit).count()
}

/// What a class of money at risk means.
pub fn money_words(class: usize, limits: &[f64; 4], currency: &str) -> String {
    let sum = |value: f64| super::money(currency, value);
    match (class.checked_sub(1).and_then(|below| limits.get(below)), limits.get(class)) {
        (None, Some(high)) => format!("up to {} a hectare", sum(*high)),
        (Some(low), Some(high)) => format!("{} to {}", sum(*low), sum(*high)),
        (Some(low), None) => format!("more than {}", sum(*low)),
        (None, None) => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn limits_are_round_and_hold_the_greatest() {
        for (most, first) in [(58.0, 20.0), (12.4, 2.5), (100.0, 20.0), (0.0, 0.01), (5.0, 1.0)] {
            let limits = money_limits([most, most / 3.0].into_iter());
            assert!((limits[0] - first).abs() < 1e-9, "{most}: {limits:?}");
            assert!(money_class(most, &limits) <= 4);
        }
        assert_eq!([99.0, 95.0, 94.9, 80.0, 50.0, 3.0].map(control_class), [0, 0, 1, 2, 3, 4]);
        assert_eq!(control_words(1), "90 to 95 %");
        assert_eq!(money_words(4, &[20.0, 40.0, 60.0, 80.0], "£"), "more than £80");
    }
}

//! Reductions that were not printed as one figure: "<5", ">95", "90-95". The import keeps what was printed as a remark.

/// What was printed, and the reductions in % between which the true one lies; none if an exact figure was printed.
pub(super) fn bounds(remark: &str) -> Option<(&str, [f64; 2])> {
    let printed = remark.split("; ").find_map(|part| part.strip_prefix("printed as "))?;
    let (figure, is_left) = match printed.strip_suffix(" % of untreated") {
        Some(figure) => (figure, true),
        None => (printed, false),
    };
    let plain: String =
        figure.replace('−', "-").replace(',', ".").chars().filter(|c| *c != '%' && !c.is_whitespace()).collect();
    let number = |text: &str| text.parse::<f64>().ok().filter(|number| number.is_finite());
    // A reduction is never above 100 %; how far below 0 it may be does not matter for its class.
    let (lowest, highest) = if is_left { (0.0, 500.0) } else { (-400.0, 100.0) };
    let [low, high] = if let Some(limit) = plain.strip_prefix(['<', '≤']) {
        [lowest, number(limit.trim_start_matches('='))?]
    } else if let Some(limit) = plain.strip_prefix(['>', '≥']) {
        [number(limit.trim_start_matches('='))?, highest]
    } else {
        let at = plain.char_indices().skip(1).find(|(_, c)| matches!(c, '-' | '–' | '—'))?;
        [number(plain.get(..at.0)?)?, number(plain.get(at.0 + at.1.len_utf8()..)?)?]
    };
    let ends = if is_left { [100.0 - high, 100.0 - low] } else { [low, high] };
    (ends[0] < ends[1]).then_some((printed, ends))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_that_are_none() {
        assert_eq!(bounds("late pots; printed as >95 %"), Some((">95 %", [95.0, 100.0])));
        assert_eq!(bounds("printed as 90 - 95"), Some(("90 - 95", [90.0, 95.0])));
        assert_eq!(bounds("printed as <5,5 % of untreated").unwrap().1, [94.5, 100.0]);
        for exact in ["", "printed as 28 % of untreated", "printed as 54.1 bc", "printed as 71 ± 3"] {
            assert_eq!(bounds(exact), None, "{exact}");
        }
    }
}

//! The order of names.

use std::cmp::Ordering;

/// Order of names as people count and look them up: "Field 2" before "Field 10", letters whatever their case. Of names that differ in
/// nothing else ("Plot 2", "plot 02"), the order of their characters decides, so that no two different names are equal.
pub fn by_name(a: &str, b: &str) -> Ordering {
    let (mut one, mut other) = (a, b);
    loop {
        if let (Some((left, after)), Some((right, behind))) = (number(one), number(other)) {
            // Of two numbers without leading noughts the longer is larger, however long they are.
            let order = left.len().cmp(&right.len()).then(left.cmp(right));
            if order.is_ne() {
                return order;
            }
            (one, other) = (after, behind);
            continue;
        }
        let (mut ones, mut others) = (one.chars(), other.chars());
        match (ones.next(), others.next()) {
            (None, None) => return a.cmp(b),
            (Some(left), Some(right)) => {
                let order = left.to_lowercase().cmp(right.to_lowercase());
                if order.is_ne() {
                    return order;
                }
                (one, other) = (ones.as_str(), others.as_str());
            }
            (left, right) => return left.cmp(&right),
        }
    }
}

/// The number that a text begins with, without leading noughts, and what follows it.
fn number(text: &str) -> Option<(&str, &str)> {
    let (digits, rest) = text.split_at(text.len() - text.trim_start_matches(|c: char| c.is_ascii_digit()).len());
    (!digits.is_empty()).then(|| (digits.trim_start_matches('0'), rest))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_in_the_order_of_their_numbers_whatever_their_case() {
        let wanted = [
            "7 Acres",
            "12 Acres",
            "99999999999999999998 x",
            "99999999999999999999 x",
            "Acre 3",
            "Plot",
            "plot 1",
            "Plot 02",
            "Plot 2",
            "Plot 2b",
            "plot 2B",
            "Plot 10",
            "Zwölf",
            "Ö 1",
        ];
        for start in 0..wanted.len() {
            let mut names = wanted;
            names.rotate_left(start);
            names.sort_by(|a, b| by_name(a, b));
            assert_eq!(names, wanted);
        }
        assert_eq!(by_name("A1", "A1"), Ordering::Equal);
        assert_ne!(by_name("A1", "a1"), Ordering::Equal);
    }
}

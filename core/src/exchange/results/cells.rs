//! What people write into the cells of a laboratory's table: percentages, limits, counts, days, years.

use jiff::civil::Date;

use crate::formats::Cell;
use crate::model::Rating;

/// A cell where a number is wanted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::exchange) enum Number {
    /// Nothing is written.
    Empty,
    /// Said to be not there: "n/a", "not tested", "-".
    NotTested,
    /// A number.
    Exact(f64),
    /// Less than a number: "<5".
    Below(f64),
    /// More than a number: ">95".
    Above(f64),
    /// Something else.
    Unreadable,
}

impl Number {
    /// The number, or the limit it stands at.
    pub fn value(self) -> Option<f64> {
        match self {
            Self::Exact(number) | Self::Below(number) | Self::Above(number) => Some(number),
            Self::Empty | Self::NotTested | Self::Unreadable => None,
        }
    }
}

/// Words for a test that was not made.
const NOT_TESTED: [&str; 20] = [
    "missing",
    "lost",
    "void",
    "dropped",
    "untested",
    "n/a",
    "na",
    "n.a.",
    "nt",
    "n/t",
    "n.t.",
    "nd",
    "n.d.",
    "not tested",
    "no test",
    "no result",
    "none",
    "-",
    "–",
    "—",
];

/// Reads a number: decimal commas, per cent signs, "<" and ">" are understood.
pub(in crate::exchange) fn number(cell: &Cell) -> Number {
    let text = match cell {
        Cell::Empty => return Number::Empty,
        Cell::Number(number) => return if number.is_finite() { Number::Exact(*number) } else { Number::Unreadable },
        Cell::Text(text) => text.trim().to_lowercase(),
    };
    if NOT_TESTED.contains(&text.as_str()) {
        return Number::NotTested;
    }
    let plain = text.replace('−', "-").replace(['%', '\u{a0}', ' '], "");
    let (limit, digits): (fn(f64) -> Number, &str) = match plain.chars().next() {
        Some('<' | '≤') => (Number::Below, plain.trim_start_matches(['<', '≤', '='])),
        Some('>' | '≥') => (Number::Above, plain.trim_start_matches(['>', '≥', '='])),
        Some('~' | '≈') => (Number::Exact, plain.trim_start_matches(['~', '≈'])),
        _ => (Number::Exact, plain.as_str()),
    };
    // One comma and no point is a decimal comma.
    let digits =
        if digits.matches(',').count() == 1 && !digits.contains('.') { digits.replace(',', ".") } else { digits.to_owned() };
    // Only plain numbers: "1e3", "inf" and "nan" are not what a laboratory writes.
    if digits.chars().any(|c| !(c.is_ascii_digit() || matches!(c, '.' | '-' | '+'))) {
        return Number::Unreadable;
    }
    digits.parse().ok().filter(|number: &f64| number.is_finite()).map_or(Number::Unreadable, limit)
}

/// "3/6" or "3 of 6": so many of so many.
pub(super) fn of(cell: &Cell) -> Option<(f64, f64)> {
    let Cell::Text(text) = cell else { return None };
    let (part, whole) = text.split_once('/').or_else(|| text.split_once(" of ")).or_else(|| text.split_once(" out of "))?;
    let read = |text: &str| text.trim().parse::<f64>().ok().filter(|number| number.is_finite() && *number >= 0.0);
    Some((read(part)?, read(whole)?))
}

/// A harvest year: four digits, or "2025/26" and "harvest 2026", of which the last year is meant.
pub(in crate::exchange) fn year(cell: &Cell) -> Option<i32> {
    let whole = |number: f64| (number.fract() == 0.0 && (1950.0..=2100.0).contains(&number)).then_some(number as i32);
    match cell {
        Cell::Empty => None,
        Cell::Number(number) => whole(*number),
        Cell::Text(text) => {
            let parts: Vec<&str> = text.split(|c: char| !c.is_ascii_digit()).filter(|part| !part.is_empty()).collect();
            match parts[..] {
                [one] | [.., one] if one.len() == 4 => one.parse().ok().and_then(whole),
                [first, second] if first.len() == 4 && second.len() == 2 => {
                    format!("{}{second}", first.get(..2)?).parse().ok().and_then(whole)
                }
                _ => date(cell).map(harvest_year),
            }
        }
    }
}

/// The harvest whose seed is tested on a day: tests run from late summer to spring.
pub(super) fn harvest_year(day: Date) -> i32 {
    i32::from(day.year()) - i32::from(day.month() < 6)
}

/// A whole number, such as that of a pot: "2", "Pot 2".
pub(super) fn whole(cell: &Cell) -> Option<u32> {
    match cell {
        Cell::Number(number) if number.fract() == 0.0 && (0.0..1e6).contains(number) => Some(*number as u32),
        Cell::Text(text) => {
            let digits: String = text.chars().filter(char::is_ascii_digit).collect();
            digits.parse().ok().filter(|number: &u32| *number < 1_000_000)
        }
        _ => None,
    }
}

/// A rating in stars of the scheme before 1999 (Clarke, Blair & Moss 1994, Aspects Appl. Biol. 37:181-188): 1* lies in R?, 2* and 3*
/// in RR, 4* and 5* in RRR of the figure of Moss et al. 1999.
pub(super) fn stars(text: &str) -> Option<Rating> {
    let text = text.trim();
    let count = match text.strip_suffix('*') {
        None => return None,
        Some(number) if number.chars().all(|c| c == '*') => number.len() + 1,
        Some(number) => number.trim().parse().ok()?,
    };
    match count {
        1 => Some(Rating::RQuestion),
        2 | 3 => Some(Rating::RR),
        4 | 5 => Some(Rating::RRR),
        _ => None,
    }
}

/// Days that spreadsheets count from the end of 1899: those of 2000 to 2099.
const SERIALS: std::ops::Range<f64> = 36_526.0..73_051.0;

/// A day: 2026-10-30, 30/10/2026, 30.10.26, 30 Oct 2026, with or without a time. Days go before months, as in Europe.
pub(in crate::exchange) fn date(cell: &Cell) -> Option<Date> {
    let text = match cell {
        // A day that lost its format.
        Cell::Number(days) if SERIALS.contains(days) => {
            let first = jiff::civil::date(1899, 12, 30);
            return first.checked_add(jiff::Span::new().days(days.floor() as i64)).ok();
        }
        Cell::Number(number) if number.fract() == 0.0 && (19_000_101.0..21_000_101.0).contains(number) => {
            let number = *number as i32;
            return Date::new((number / 10_000) as i16, (number / 100 % 100) as i8, (number % 100) as i8).ok();
        }
        Cell::Empty | Cell::Number(_) => return None,
        Cell::Text(text) => text.trim(),
    };
    if let Some(day) = text.get(..10).and_then(|day| day.parse::<Date>().ok()) {
        return Some(day);
    }
    let parts: Vec<&str> = text.split(['/', '.', '-', ' ', ',']).filter(|part| !part.is_empty()).collect();
    let [day, month, year, ..] = parts[..] else { return None };
    let year_first = day.len() == 4 && day.bytes().all(|c| c.is_ascii_digit());
    let (day, year) = if year_first { (year, day) } else { (day, year) };
    let day: i8 = day.trim_end_matches(|c: char| c.is_ascii_alphabetic()).parse().ok()?;
    let year: i16 = match year.len() {
        2 => 2000 + year.parse::<i16>().ok()?,
        4 => year.parse().ok()?,
        _ => return None,
    };
    let month: i8 = month.parse().ok().or_else(|| month_of(month))?;
    Date::new(year, month, day).ok()
}

fn month_of(word: &str) -> Option<i8> {
    const MONTHS: [&str; 12] = ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"];
    let word = word.to_lowercase();
    let at = MONTHS.iter().position(|month| word.starts_with(month))?;
    Some(at as i8 + 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_as_laboratories_write_them() {
        for (written, read) in [
            ("71,5", Number::Exact(71.5)),
            ("71.5 %", Number::Exact(71.5)),
            ("−12", Number::Exact(-12.0)),
            ("<5", Number::Below(5.0)),
            ("> 95%", Number::Above(95.0)),
            ("N/A", Number::NotTested),
            ("not tested", Number::NotTested),
            ("5O", Number::Unreadable),
            ("1e9", Number::Unreadable),
            ("nan", Number::Unreadable),
            ("#DIV/0!", Number::Unreadable),
        ] {
            assert_eq!(number(&Cell::text(written)), read, "{written}");
        }
        assert_eq!(number(&Cell::Empty), Number::Empty);
        assert_eq!(of(&Cell::text("3 / 6")), Some((3.0, 6.0)));
        assert_eq!(of(&Cell::text("3")), None);
    }

    #[test]
    fn days_and_years() {
        let wanted = Some(jiff::civil::date(2026, 10, 30));
        for text in
            ["2026-10-30", "2026-10-30 09:15", "30/10/2026", "30.10.26", "30 Oct 2026", "30th October 2026", "2026/10/30"]
        {
            assert_eq!(date(&Cell::text(text)), wanted, "{text}");
        }
        for (text, read) in [
            ("2026", Some(2026)),
            ("harvest 2026", Some(2026)),
            ("2025/26", Some(2026)),
            ("25", None),
            ("30/10/2026", Some(2026)),
        ] {
            assert_eq!(year(&Cell::text(text)), read, "{text}");
        }
        assert_eq!(date(&Cell::Number(46_325.0)), wanted, "as a spreadsheet counts days");
        assert_eq!(date(&Cell::Number(20_261_030.0)), wanted);
        assert_eq!(date(&Cell::Number(2026.0)), None);
        for (text, rating) in
            [("2*", Some(Rating::RR)), ("*****", Some(Rating::RRR)), ("1 *", Some(Rating::RQuestion)), ("6*", None)]
        {
            assert_eq!(stars(text), rating, "{text}");
        }
        assert_eq!(harvest_year(jiff::civil::date(2027, 2, 3)), 2026);
    }
}

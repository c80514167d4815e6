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
    /// Between two numbers: "90-95".
    Between(f64, f64),
    /// A number with something behind it: letters of a multiple comparison ("54.1 bc"), a footnote mark, an error ("71 ± 3").
    Marked(f64),
    /// Something else.
    Unreadable,
}

impl Number {
    /// The number, the limit it stands at, or the middle of two.
    pub fn value(self) -> Option<f64> {
        match self {
            Self::Exact(number) | Self::Below(number) | Self::Above(number) | Self::Marked(number) => Some(number),
            Self::Between(low, high) => Some(0.5 * (low + high)),
            Self::Empty | Self::NotTested | Self::Unreadable => None,
        }
    }
}

/// Words for a test that was not made.
const NOT_TESTED: [&str; 26] = [
    "*",
    ".",
    "?",
    "tbc",
    "tba",
    "k.a.",
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

/// Sentences that say the same begin with or hold one of these.
const NO_TEST: [&str; 14] = [
    "insufficient",
    "not enough",
    "too few",
    "too little",
    "no germination",
    "poor germination",
    "low germination",
    "did not germinate",
    "not determined",
    "not available",
    "not done",
    "to follow",
    "pending",
    "failed",
];

/// Whether a text, in lower case, says that there was no test.
fn says_not_tested(text: &str) -> bool {
    NOT_TESTED.contains(&text)
        || !text.contains(|c: char| c.is_ascii_digit()) && NO_TEST.iter().any(|said| text.contains(said))
}

/// Reads a number: decimal commas, per cent signs, "<" and ">" are understood.
pub(in crate::exchange) fn number(cell: &Cell) -> Number {
    let text = match cell {
        Cell::Empty => return Number::Empty,
        Cell::Number(number) => return if number.is_finite() { Number::Exact(*number) } else { Number::Unreadable },
        Cell::Text(text) => text.trim().to_lowercase(),
    };
    if says_not_tested(&text) {
        return Number::NotTested;
    }
    let plain: String = text.replace('−', "-").chars().filter(|c| *c != '%' && !c.is_whitespace()).collect();
    let limit: fn(f64) -> Number = match plain.chars().next() {
        Some('<' | '≤') => Number::Below,
        Some('>' | '≥') => Number::Above,
        _ => Number::Exact,
    };
    let digits = plain.trim_start_matches(['<', '≤', '>', '≥', '=', '~', '≈']);
    if let Some(number) = plain_number(digits) {
        return limit(number);
    }
    if let Some((low, high)) = between(&plain) {
        return Number::Between(low, high);
    }
    unmarked(&text)
        .and_then(|bare| plain_number(bare.trim_end_matches([' ', '%'])))
        .map_or(Number::Unreadable, Number::Marked)
}

/// Only digits, a sign and a decimal mark: "1e3", "inf" and "nan" are not what a laboratory writes.
fn plain_number(digits: &str) -> Option<f64> {
    // One comma and no point is a decimal comma.
    let digits =
        if digits.matches(',').count() == 1 && !digits.contains('.') { digits.replace(',', ".") } else { digits.to_owned() };
    if digits.chars().any(|c| !(c.is_ascii_digit() || matches!(c, '.' | '-' | '+'))) {
        return None;
    }
    digits.parse().ok().filter(|number: &f64| number.is_finite())
}

/// Two numbers that grow, with a dash or "to" between them.
fn between(plain: &str) -> Option<(f64, f64)> {
    let (low, high) = plain.split_once("to").or_else(|| {
        let at = plain.char_indices().skip(1).find(|(_, c)| matches!(c, '-' | '–' | '—'))?;
        Some((plain.get(..at.0)?, plain.get(at.0 + at.1.len_utf8()..)?))
    })?;
    let (low, high) = (plain_number(low)?, plain_number(high)?);
    (low < high).then_some((low, high))
}

/// A number without what stands behind it: up to three letters of groups, footnote marks, or an error after "±".
fn unmarked(text: &str) -> Option<&str> {
    if let Some((number, error)) = text.split_once('±').or_else(|| text.split_once("+/-")) {
        return plain_number(error.trim()).map(|_| number.trim_end());
    }
    let marks = |c: char| matches!(c, '*' | '†' | '‡' | '§' | '#' | '¹' | '²' | '³');
    let bare = text.trim_end_matches(marks);
    // Groups are lettered from a; "5o" is a mistyped 50.
    let group = |c: char| ('a'..='h').contains(&c);
    let letters = bare.trim_end_matches(|c: char| group(c) || matches!(c, ',' | ' '));
    let count = bare[letters.len()..].chars().filter(|c| group(*c)).count();
    let bare = if (1..=3).contains(&count) { letters } else { bare };
    (bare.len() < text.len()).then(|| bare.trim_end())
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
            if let Number::Exact(number) = number(cell) {
                return whole(&Cell::Number(number));
            }
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
    // English first; then beginnings that other languages of the region have.
    const MONTHS: [&[&str]; 12] = [
        &["jan"],
        &["feb", "fév"],
        &["mar", "mär", "maa", "mrt"],
        &["apr", "avr"],
        &["may", "mai", "mei", "maj"],
        &["jun", "juin"],
        &["jul", "juil"],
        &["aug", "aoû"],
        &["sep"],
        &["oct", "okt"],
        &["nov"],
        &["dec", "dez", "déc"],
    ];
    let word = word.to_lowercase();
    let at = MONTHS.iter().position(|month| month.iter().any(|beginning| word.starts_with(beginning)))?;
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
            ("90-95", Number::Between(90.0, 95.0)),
            ("90 – 95 %", Number::Between(90.0, 95.0)),
            ("-5 to 12", Number::Between(-5.0, 12.0)),
            ("95-90", Number::Unreadable),
            ("54,1 bc", Number::Marked(54.1)),
            ("72*", Number::Marked(72.0)),
            ("71.5 ± 3.2", Number::Marked(71.5)),
            ("71.5 % a", Number::Marked(71.5)),
            ("*", Number::NotTested),
            ("Insufficient seed", Number::NotTested),
            ("72 abcd", Number::Unreadable),
            ("72 (18)", Number::Unreadable),
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

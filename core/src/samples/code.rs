//! Codes of samples: `SAL27-014K`. Letters of the farm, harvest year, a running number, and a letter that checks the rest, so that a
//! slip of the pen is noticed.
//!
//! The check character is that of ISO/IEC 7064, MOD 37,36, over letters and figures without the hyphen: it finds every single wrong
//! character and nearly every two that changed places. Numbers whose check character is a figure, or a letter that is easily
//! taken for another (B G I O Q S Z), are not given out.

use crate::model::{Field, Records, same_name};

/// Check letters that are given out.
const CLEAR: &str = "ACDEFHJKLMNPRTUVWXY";

/// What a code looks like.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// One of ours, and its check letter fits.
    Right,
    /// Built as ours are, but its check letter does not fit: mistyped.
    Mistyped,
    /// Somebody else's.
    Foreign,
}

fn value(c: u8) -> Option<u32> {
    char::from(c).to_digit(36)
}

/// The check character of letters and figures; others are left out (ISO/IEC 7064, MOD 37,36).
pub fn check_letter(text: &str) -> char {
    let mut product = 36;
    for digit in text.bytes().filter_map(value) {
        let sum = (product + digit) % 36;
        product = (2 * if sum == 0 { 36 } else { sum }) % 37;
    }
    char::from_digit((37 - product) % 36, 36).map_or('0', |c| c.to_ascii_uppercase())
}

/// The code of a prefix, harvest year and number; none if its check letter is not one that is given out.
pub fn code_of(prefix: &str, year: i32, number: u32) -> Option<String> {
    let body = format!("{prefix}{:02}-{number:03}", year.rem_euclid(100));
    let check = check_letter(&body);
    CLEAR.contains(check).then(|| format!("{body}{check}"))
}

/// The letters, two figures of the year and number of a code built as ours are, and its last letter.
fn parts(code: &str) -> Option<(&str, u32, char)> {
    let (head, tail) = code.split_once('-')?;
    let letters = head.find(|c: char| c.is_ascii_digit())?;
    let (prefix, year) = head.split_at_checked(letters)?;
    let check = tail.chars().last().filter(char::is_ascii_alphabetic)?;
    let number = tail.strip_suffix(check)?;
    let fits = (2..=4).contains(&prefix.len())
        && prefix.bytes().all(|c| c.is_ascii_alphabetic())
        && year.len() == 2
        && year.bytes().all(|c| c.is_ascii_digit())
        && (3..=5).contains(&number.len())
        && number.bytes().all(|c| c.is_ascii_digit());
    fits.then(|| number.parse().ok()).flatten().map(|number| (head, number, check))
}

/// Whether a code is ours and rightly written.
pub fn judge(code: &str) -> Verdict {
    let code = code.trim().to_ascii_uppercase();
    match parts(&code) {
        None => Verdict::Foreign,
        Some((.., check)) if check_letter(&code[..code.len() - 1]) == check => Verdict::Right,
        Some(_) => Verdict::Mistyped,
    }
}

/// The letters that codes of a field's samples begin with: as set, or the first three of its farm's name.
pub fn prefix_of(records: &Records, field: &Field) -> String {
    let plain = |name: &str, most: usize| -> String {
        name.chars().filter_map(plain_letter).take(most).collect::<String>().to_ascii_uppercase()
    };
    let set = plain(&records.settings.samples.prefix, 4);
    let own = if set.len() >= 2 { set } else { plain(records.farm_name(field), 3) };
    if own.len() >= 2 { own } else { "AWN".to_owned() }
}

/// A letter without its accent; none for what is no Latin letter.
fn plain_letter(c: char) -> Option<char> {
    let c = c.to_lowercase().next()?;
    let plain = match c {
        'a'..='z' => c,
        'à'..='å' | 'ā' | 'ă' | 'ą' | 'æ' => 'a',
        'ç' | 'ć' | 'č' => 'c',
        'ď' | 'đ' | 'ð' => 'd',
        'è'..='ë' | 'ē' | 'ę' | 'ě' => 'e',
        'ì'..='ï' | 'ī' | 'ı' => 'i',
        'ł' | 'ľ' => 'l',
        'ñ' | 'ń' | 'ň' => 'n',
        'ò'..='ö' | 'ø' | 'ō' | 'ő' | 'œ' => 'o',
        'ř' => 'r',
        'ś' | 'š' | 'ş' | 'ß' => 's',
        'ť' | 'ţ' | 'þ' => 't',
        'ù'..='ü' | 'ū' | 'ů' | 'ű' => 'u',
        'ŵ' => 'w',
        'ý' | 'ÿ' | 'ŷ' => 'y',
        'ź' | 'ż' | 'ž' => 'z',
        _ => return None,
    };
    Some(plain)
}

/// The next free code of a field's samples in a harvest year; `more` are codes that were given out just now. Numbers are never
/// given out a second time, also not those of samples that were withdrawn.
pub fn next_code(records: &Records, field: &Field, year: i32, more: &[String]) -> String {
    let prefix = prefix_of(records, field);
    let head = format!("{prefix}{:02}", year.rem_euclid(100));
    let used = records.samples.values().map(|sample| sample.code.to_ascii_uppercase());
    let used = used.chain(more.iter().map(|code| code.to_ascii_uppercase()));
    let last = used.filter_map(|code| parts(&code).filter(|(own, ..)| *own == head).map(|(_, number, _)| number)).max();
    let codes = (last.unwrap_or(0) + 1..).filter_map(|number| code_of(&prefix, year, number));
    codes.into_iter().find(|code| records.sample_coded(code).is_none()).unwrap_or(head)
}

/// A code of the project that differs from a typed one in one character, in two that changed places, or only in marks.
pub fn like<'a>(records: &'a Records, typed: &str) -> Option<&'a str> {
    let plain =
        |code: &str| -> Vec<char> { code.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_uppercase).collect() };
    let typed_plain = plain(typed);
    let near = |code: &str| {
        let code = plain(code);
        let off: Vec<usize> = (0..code.len().min(typed_plain.len())).filter(|at| code[*at] != typed_plain[*at]).collect();
        if code.len() != typed_plain.len() {
            // A character too many or too few.
            let (long, short) = if code.len() > typed_plain.len() { (&code, &typed_plain) } else { (&typed_plain, &code) };
            return long.len() == short.len() + 1
                && (0..long.len())
                    .any(|skip| long.iter().enumerate().filter(|(at, _)| *at != skip).map(|(_, c)| c).eq(short));
        }
        match off[..] {
            [] | [_] => true,
            [a, b] => b == a + 1 && code[a] == typed_plain[b] && code[b] == typed_plain[a],
            _ => false,
        }
    };
    let mut codes = records.samples.values().map(|sample| sample.code.as_str()).filter(|code| !same_name(code, typed));
    codes.find(|code| near(code))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{Farm, FarmId, Record, Sample};

    #[test]
    fn the_check_character_is_that_of_the_standard() {
        // The worked example that the Global Release Identifier standard gives for ISO/IEC 7064 MOD 37,36 (as quoted in python-stdnum).
        assert_eq!(check_letter("A12425GABC1234002"), 'M');
        assert_eq!(check_letter("A1-2425G-ABC1234002"), 'M');
    }

    #[test]
    fn every_single_wrong_character_is_noticed() {
        let code = next_code(&Records::default(), &Field::new(FarmId::new(), "x", geo::MultiPolygon(vec![])), 2027, &[]);
        assert_eq!(judge(&code), Verdict::Right);
        for at in (0..code.len()).filter(|at| code.as_bytes()[*at] != b'-') {
            for wrong in ('0'..='9').chain('A'..='Z') {
                let mut typed: Vec<char> = code.chars().collect();
                if typed[at] == wrong {
                    continue;
                }
                typed[at] = wrong;
                let typed: String = typed.into_iter().collect();
                assert_ne!(judge(&typed), Verdict::Right, "{typed}");
            }
        }
        for foreign in ["SF26-01", "A1", "", "SAL27-14K", "SAL2027-014K", "Ä-1"] {
            assert_eq!(judge(foreign), Verdict::Foreign, "{foreign}");
        }
    }

    #[test]
    fn numbers_are_never_given_out_twice_and_accents_do_not_matter() {
        let mut records = Records::default();
        let farm = Farm { id: FarmId::new(), business: String::new(), name: "Ålder Éast".into() };
        let field = Field::new(farm.id, "Long Acre", geo::MultiPolygon(vec![]));
        records.put(Record::Farm(farm));
        let mut codes: Vec<String> = Vec::new();
        for _ in 0..400 {
            let code = next_code(&records, &field, 2027, &[]);
            assert!(code.starts_with("ALD27-") && judge(&code) == Verdict::Right && !codes.contains(&code), "{code}");
            records.put(Record::Sample(Sample::new(code.clone(), field.id, 2027)));
            codes.push(code);
        }
        let typed = codes[7].replace("27", "72");
        assert_eq!(like(&records, &typed), Some(codes[7].as_str()));
        assert_eq!(like(&records, &codes[7].replace('-', "")), Some(codes[7].as_str()));
    }
}

//! Active ingredients as people write them: with or without ester and salt, in any order of a mixture, with a dose behind.
//!
//! "Fenoxaprop-P-ethyl", "mesosulfuron-methyl & iodosulfuron-methyl-sodium", "cycloxydim 200 g/ha". A mixture is named in the
//! order of the table of modes of action, so that it has one name however it is written.

use crate::model::modes_of_action;

/// Parts of the names of esters and salts, which act as the acid they come from.
const FORMS: [&str; 21] = [
    "methyl",
    "ethyl",
    "butyl",
    "propargyl",
    "tefuryl",
    "etotyl",
    "mexyl",
    "meptyl",
    "sodium",
    "potassium",
    "ammonium",
    "diammonium",
    "isopropylammonium",
    "isopropylamine",
    "ipa",
    "dimethylammonium",
    "trimesium",
    "salt",
    "ester",
    "acid",
    "hydrate",
];
/// Other spellings of names in the table.
const SPELLINGS: [(&str, &str); 8] = [
    ("triallate", "tri-allate"),
    ("chlortoluron", "chlorotoluron"),
    ("fluazifop", "fluazifop-p"),
    ("haloxyfop", "haloxyfop-p"),
    ("haloxyfop-r", "haloxyfop-p"),
    ("quizalofop", "quizalofop-p"),
    ("dimethenamid", "dimethenamid-p"),
    ("fenoxaprop-p", "fenoxaprop-p"),
];
/// What may stand between the actives of a mixture.
const JOINTS: [&str; 4] = ["and", "with", "plus", "mixture"];
/// Words behind a name that change nothing: formulations, "a.i.", classes of chemistry.
const HARMLESS: [&str; 17] =
    ["ec", "wg", "sc", "sl", "sg", "ew", "od", "ai", "as", "a", "i", "s", "fop", "dim", "den", "alone", "herbicide"];

/// A word of a text with its place in it, bytes.
struct Word<'a> {
    from: usize,
    to: usize,
    text: &'a str,
}

fn words(text: &str) -> Vec<Word<'_>> {
    let mut words = Vec::new();
    let mut from = None;
    for (at, letter) in text.char_indices().chain([(text.len(), ' ')]) {
        match (letter.is_alphanumeric(), from) {
            (true, None) => from = Some(at),
            (false, Some(start)) => {
                words.push(Word { from: start, to: at, text: &text[start..at] });
                from = None;
            }
            _ => {}
        }
    }
    words
}

/// Names that are looked for, each as its words, with the name in the table.
fn names() -> &'static [(Vec<&'static str>, &'static str)] {
    static NAMES: std::sync::OnceLock<Vec<(Vec<&'static str>, &'static str)>> = std::sync::OnceLock::new();
    NAMES.get_or_init(|| {
        let own = modes_of_action().iter().flat_map(|mode| mode.actives.iter().map(|name| (*name, *name)));
        let mut names: Vec<_> = own.chain(SPELLINGS).map(|(seen, name)| (seen.split('-').collect(), name)).collect();
        // The longest first: "fenoxaprop-p" before "fenoxaprop".
        names.sort_by_key(|(words, _): &(Vec<&str>, &str)| std::cmp::Reverse(words.len()));
        names
    })
}

/// The place of an active in the table of modes of action.
fn order(active: &str) -> usize {
    modes_of_action().iter().flat_map(|mode| mode.actives.iter()).position(|name| *name == active).unwrap_or(usize::MAX)
}

/// The actives named in a text, joined by "+", and what is left of the text; none if none is named.
pub(super) fn active_in(text: &str) -> Option<(String, String)> {
    // "sulph" is the older spelling.
    let lower = text.to_lowercase().replace("sulph", "sulf");
    let words = words(&lower);
    let joined = |at: usize| {
        let (Some(this), Some(next)) = (words.get(at), words.get(at + 1)) else { return false };
        lower[this.to..next.from].chars().all(|c| matches!(c, '-' | '‐' | '–' | ' ' | '_'))
    };
    let mut found: Vec<&str> = Vec::new();
    let mut rest = String::new();
    let (mut at, mut end) = (0, 0);
    while let Some(word) = words.get(at) {
        let named = names().iter().find(|(name, _)| {
            let fits = |(offset, part): (usize, &&str)| {
                words.get(at + offset).is_some_and(|word| word.text == *part) && (offset == 0 || joined(at + offset - 1))
            };
            name.iter().enumerate().all(fits)
        });
        let Some((name, active)) = named else {
            at += 1;
            continue;
        };
        rest.push_str(between(&lower[end..word.from], found.is_empty()));
        if !found.contains(active) {
            found.push(active);
        }
        at += name.len();
        while words.get(at).is_some_and(|word| FORMS.contains(&word.text)) && joined(at - 1) {
            at += 1;
        }
        end = words.get(at - 1).map_or(end, |word| word.to);
        rest.push(' ');
    }
    if found.is_empty() {
        return None;
    }
    rest.push_str(&lower[end..]);
    found.sort_by_key(|active| order(active));
    let rest = rest.trim_matches(|c: char| !c.is_alphanumeric() && c != '%').to_owned();
    Some((found.join("+"), rest))
}

/// What stands before an active; what only joins it to the one before is left out.
fn between(text: &str, first: bool) -> &str {
    let joint = !first && words(text).iter().all(|word| JOINTS.contains(&word.text));
    if joint { "" } else { text }
}

/// An active in a cell of its own, and the dose behind it; none if anything else stands there.
pub(super) fn active_of_cell(text: &str) -> Option<(String, Option<String>)> {
    let (active, rest) = active_in(text)?;
    let (dose, words_left) = dose_in(&without_strength(&rest));
    let known = |word: &Word<'_>| HARMLESS.contains(&word.text) || FORMS.contains(&word.text) || JOINTS.contains(&word.text);
    words(&words_left).iter().all(known).then_some((active, dose))
}

/// Without the strength of a formulation: "360 g/l".
fn without_strength(text: &str) -> String {
    for unit in ["g/l", "g/kg", "gl-1"] {
        if let Some(at) = text.find(unit) {
            let before = text[..at].trim_end().trim_end_matches(|c: char| c.is_ascii_digit() || matches!(c, '.' | ','));
            return format!("{before} {}", &text[at + unit.len()..]);
        }
    }
    text.to_owned()
}

/// A dose among words: "300 g/ha % reduction" is 300 g/ha and "% reduction".
pub(super) fn dose_in(words: &str) -> (Option<String>, String) {
    const UNITS: [&str; 13] =
        ["kg/ha", "ml/ha", "mg/l", "g/ha", "l/ha", "ppm", "field rate", "label rate", "x rate", "µm", "um", "n", "x"];
    let mut text =
        words.to_lowercase().replace("a.i.", "").replace("a.s.", "").replace(" ai/ha", "/ha").replace(" as/ha", "/ha");
    for (seen, meant) in [
        ("g /ha", "g/ha"),
        ("g ha-1", "g/ha"),
        ("l ha-1", "l/ha"),
        ("g  ha-1", "g/ha"),
        ("× ", ""),
        ("x field", "field"),
        ("x label", "label"),
    ] {
        text = text.replace(seen, meant);
    }
    for unit in UNITS {
        for (at, _) in text.match_indices(unit) {
            if text[at + unit.len()..].chars().next().is_some_and(char::is_alphanumeric) {
                continue;
            }
            let before = &text[..at];
            let digits =
                before.trim_end().trim_end_matches(|c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | '+' | ' '));
            let number = before[digits.len()..].trim();
            if number.chars().any(|c| c.is_ascii_digit()) {
                let rest = format!("{digits} {}", &text[at + unit.len()..]);
                let rest = rest.trim_matches(|c: char| !c.is_alphanumeric() && c != '%').to_owned();
                return (Some(format!("{number} {}", if matches!(unit, "n" | "x") { "field rate" } else { unit })), rest);
            }
        }
    }
    (None, words.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[allow(clippy::unnecessary_wraps)] // it stands beside none
    fn of(active: &str, dose: Option<&str>) -> Option<(String, Option<String>)> {
        Some((active.to_owned(), dose.map(str::to_owned)))
    }

    #[test]
    fn actives_in_cells() {
        for (text, wanted) in [
            ("Fenoxaprop-P-ethyl", of("fenoxaprop-p", None)),
            ("fenoxaprop P ethyl", of("fenoxaprop-p", None)),
            ("fenoxaprop", of("fenoxaprop", None)),
            ("cycloxydim 200 g/ha", of("cycloxydim", Some("200 g/ha"))),
            ("Cycloxydim (200 g a.i./ha)", of("cycloxydim", Some("200 g/ha"))),
            ("mesosulfuron-methyl + iodosulfuron-methyl-sodium", of("mesosulfuron+iodosulfuron", None)),
            ("Iodosulphuron/mesosulphuron", of("mesosulfuron+iodosulfuron", None)),
            ("mesosulfuron & iodosulfuron 12+2.4 g/ha", of("mesosulfuron+iodosulfuron", Some("12+2.4 g/ha"))),
            ("clodinafop-propargyl EC", of("clodinafop", None)),
            ("Glyphosate (isopropylammonium salt) 360 g/l", of("glyphosate", None)),
            ("Tri-allate", of("tri-allate", None)),
            ("triallate", of("tri-allate", None)),
            ("S-metolachlor", of("s-metolachlor", None)),
            ("haloxyfop-R-methyl", of("haloxyfop-p", None)),
            ("Chlortoluron", of("chlorotoluron", None)),
            ("cycloxydim 5 ppm", of("cycloxydim", Some("5 ppm"))),
            ("clethodim 0.5N", of("clethodim", Some("0.5 field rate"))),
            ("cycloxydim or clethodim", None),
            ("cycloxydimm", None),
            ("sugar", None),
        ] {
            assert_eq!(active_of_cell(text), wanted, "{text}");
        }
    }

    #[test]
    fn actives_in_headings() {
        for (text, active, rest) in [
            ("Cycloxydim % reduction", "cycloxydim", "% reduction"),
            ("Fenoxaprop-P rating", "fenoxaprop-p", "rating"),
            ("Fenoxaprop-P-ethyl: % red.", "fenoxaprop-p", "% red"),
            ("Mesosulfuron + iodosulfuron (300 g/ha) % reduction", "mesosulfuron+iodosulfuron", "300 g/ha) % reduction"),
            ("% reduction, mesosulfuron-methyl/iodosulfuron-methyl-sodium", "mesosulfuron+iodosulfuron", "% reduction"),
        ] {
            assert_eq!(active_in(text), Some((active.to_owned(), rest.to_owned())), "{text}");
        }
        assert_eq!(active_in("Sample no."), None);
    }
}

//! Rows that are no samples: reference populations by their names, and untreated pots.

use crate::model::StandardRole;

/// Words for a reference population.
const STANDARD: [&str; 6] = ["standard", "standards", "std", "stnd", "reference", "check"];
/// Words for a susceptible one.
const SUSCEPTIBLE: [&str; 5] = ["susceptible", "sensitive", "susc", "sus", "sens"];
/// Words for a resistant one.
const RESISTANT: [&str; 3] = ["resistant", "res", "resist"];

/// The role that a row's name, or a column that says so, gives it; none: it is a sample.
///
/// "S standard", "Susceptible std", "Standard (R)", "Sensitive reference" are standards; a code such as "S-12" is not.
pub(super) fn role(name: &str, said: &str) -> Option<StandardRole> {
    let words = |text: &str| -> Vec<String> {
        let lower = text.to_lowercase();
        let words =
            lower.split(|c: char| !c.is_alphanumeric()).map(|word| word.trim_end_matches(|c: char| c.is_ascii_digit()));
        words.filter(|word| !word.is_empty()).map(str::to_owned).collect()
    };
    let has = |words: &[String], any: &[&str]| words.iter().any(|word| any.contains(&word.as_str()));
    let (name, said) = (words(name), words(said));
    let is_standard = has(&name, &STANDARD)
        || has(&said, &STANDARD)
        || has(&said, &SUSCEPTIBLE)
        || has(&said, &RESISTANT)
        || has(&name, &["susceptible", "sensitive", "resistant", "susc", "sstd", "rstd", "sstandard", "rstandard"])
        // "S biotype", "R population", "S control": a letter with a word for a population.
        || name.len() == 2 && has(&name, &["s", "r"]) && has(&name, &["biotype", "population", "pop", "control", "ref"]);
    if !is_standard || has(&said, &["sample", "test", "field"]) {
        return None;
    }
    let either =
        |any: &[&str], letter: &str| has(&said, any) || has(&name, any) || has(&name, &[letter]) || has(&said, &[letter]);
    let either = |any: &[&str], letter: &str| {
        let joined = [format!("{letter}std"), format!("{letter}standard")];
        either(any, letter) || name.iter().any(|word| joined.contains(word))
    };
    Some(if either(&RESISTANT, "r") {
        StandardRole::Resistant
    } else if either(&SUSCEPTIBLE, "s") || matches!(&name[..], [only] if STANDARD.contains(&only.as_str())) {
        StandardRole::Susceptible
    } else {
        StandardRole::Other
    })
}

/// A lone "S" or "R" in the place of a sample's code, of no field.
pub(super) fn letter(name: &str) -> Option<StandardRole> {
    match name.trim() {
        "S" | "s" => Some(StandardRole::Susceptible),
        "R" | "r" => Some(StandardRole::Resistant),
        _ => None,
    }
}

/// Whether pots with this in the place of an active were not treated.
pub(super) fn is_untreated(active: &str) -> bool {
    matches!(
        active.trim().to_lowercase().as_str(),
        "untreated"
            | "untreated control"
            | "control (untreated)"
            | "nil"
            | "none"
            | "control"
            | "water"
            | "water only"
            | "unsprayed"
            | "not sprayed"
            | "utc"
            | "no herbicide"
            | "untreated check"
            | "unbehandelt"
            | "kontrolle"
            | "ubehandlet"
            | "témoin"
            | "0"
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn standards_by_their_names() {
        use StandardRole::{Other, Resistant, Susceptible};
        for (name, said, role) in [
            ("S standard", "", Some(Susceptible)),
            ("Susceptible Std. 2", "", Some(Susceptible)),
            ("Standard (R)", "", Some(Resistant)),
            ("Standard", "", Some(Susceptible)),
            ("resistant reference", "", Some(Resistant)),
            ("Park 95", "susceptible standard", Some(Susceptible)),
            ("Hill 3", "standard", Some(Other)),
            ("S-12", "", None),
            ("SB-1", "sample", None),
            ("R 7", "", None),
            ("Checkers Field", "", None),
            ("S-std", "", Some(Susceptible)),
            ("SStd", "", Some(Susceptible)),
            ("STD_R2", "", Some(Resistant)),
            ("Standard sens. 2024", "", Some(Susceptible)),
            ("S biotype", "", Some(Susceptible)),
            ("R population", "", Some(Resistant)),
            ("Known susceptible (S1)", "", Some(Susceptible)),
            ("S control", "", Some(Susceptible)),
            ("Control", "", None),
            ("RS-4", "", None),
        ] {
            assert_eq!(super::role(name, said), role, "{name} {said}");
        }
    }
}

//! What the pattern of ratings suggests of the mechanism. A suggestion with its reason, never a finding: only a test of the
//! mutation or of the metabolism settles it.
//!
//! Source: the reading of the seed test with pendimethalin, a fop and cycloxydim or sethoxydim, as used for black-grass since the
//! 1990s (Moss; trade literature of 1998 and 1999; the table as a whole from memory). Mutations that spare dims: Délye et al.
//! 2005, Plant Physiol. 137:794-806 (from memory). A pot test with mesosulfuron + iodosulfuron cannot tell target site from
//! metabolism; sulfometuron is little metabolised (from memory).

use std::collections::{BTreeMap, BTreeSet};

use crate::model::Rating;
use crate::rating::fields::{FieldRatings, GroupRating};

/// What is suggested.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Reading {
    /// No resistance to what was tested.
    None,
    /// Enhanced metabolism.
    Metabolism,
    /// ACCase target site.
    AccaseTargetSite,
    /// Resistance to fops only: weak metabolism, or an ACCase mutation that spares dims.
    FopsOnly,
    /// ALS resistance of either kind.
    AlsEither,
    /// ALS target site.
    AlsTargetSite,
    /// ALS resistance by metabolism.
    AlsMetabolism,
    /// Survivors of glyphosate.
    Glyphosate,
    /// Early signs: no mechanism is assigned.
    Early,
    /// The tests there are do not fit one pattern, or some are missing.
    Undecided,
}

impl Reading {
    /// In a few words.
    pub fn label(self) -> &'static str {
        match self {
            Self::None => "no resistance found to what was tested",
            Self::Metabolism => "enhanced metabolism",
            Self::AccaseTargetSite => "ACCase target site",
            Self::FopsOnly => "fops only: weak enhanced metabolism, or an ACCase mutation that spares dims",
            Self::AlsEither => "ALS resistance, target site or metabolism",
            Self::AlsTargetSite => "ALS target site",
            Self::AlsMetabolism => "ALS resistance by metabolism",
            Self::Glyphosate => "reduced control by glyphosate",
            Self::Early => "early signs, no mechanism assigned",
            Self::Undecided => "undecided",
        }
    }
}

/// What a pattern of ratings suggests.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Suggestion {
    /// What is suggested; several may stand side by side.
    pub readings: Vec<Reading>,
    /// Why.
    pub reasons: Vec<String>,
    /// What would settle it.
    pub settle: Vec<String>,
}

const FOPS: [&str; 8] =
    ["clodinafop", "diclofop", "fenoxaprop", "fenoxaprop-p", "fluazifop-p", "propaquizafop", "quizalofop-p", "haloxyfop-p"];
const DIMS: [&str; 2] = ["cycloxydim", "sethoxydim"];
const OTHER_DIMS: [&str; 3] = ["clethodim", "tepraloxydim", "tralkoxydim"];

/// One class of actives in the pattern: the worst rating, and the active that got it.
type Seen<'a> = Option<(Rating, &'a str)>;

fn worst(ratings: &BTreeMap<String, Rating>, belongs: impl Fn(&str) -> bool) -> Seen<'_> {
    ratings
        .iter()
        .filter(|(active, _)| active.split('+').any(|part| belongs(part.trim())))
        .map(|(active, rating)| (*rating, active.as_str()))
        .max_by_key(|(rating, _)| *rating)
}

fn resistant(seen: Seen<'_>) -> bool {
    seen.is_some_and(|(rating, _)| rating >= Rating::RR)
}

fn susceptible(seen: Seen<'_>) -> bool {
    seen.is_some_and(|(rating, _)| rating == Rating::S)
}

fn early(seen: Seen<'_>) -> bool {
    seen.is_some_and(|(rating, _)| rating == Rating::RQuestion)
}

/// What the latest rating of each active (lower case, mixtures joined by "+") suggests.
pub fn suggest(ratings: &BTreeMap<String, Rating>) -> Suggestion {
    let mut suggestion = Suggestion::default();
    if ratings.is_empty() {
        return suggestion;
    }
    metabolism_or_accase(ratings, &mut suggestion);
    als(ratings, &mut suggestion);
    let glyphosate = worst(ratings, |active| active == "glyphosate");
    if let Some((rating, _)) = glyphosate.filter(|(rating, _)| *rating > Rating::S) {
        suggestion.add(
            Reading::Glyphosate,
            format!("Glyphosate is {}. Survivors are treated as urgent wherever they are found.", rating.label()),
            "Retest the survivors at once at several doses, and let no plant set seed.",
        );
    }
    if suggestion.readings.is_empty() {
        let all_susceptible = ratings.values().all(|rating| *rating == Rating::S);
        let names = ratings.keys().cloned().collect::<Vec<_>>().join(", ");
        if all_susceptible {
            suggestion.add(Reading::None, format!("All S: {names}."), "");
        } else {
            suggestion.add(
                Reading::Undecided,
                format!("The tests there are ({names}) tell no mechanism apart."),
                "A seed test with pendimethalin, a fop and cycloxydim separates metabolism from the ACCase target site.",
            );
        }
    }
    suggestion
}

/// What the latest ratings of a field suggest; says so where they are not of one harvest or not of one sample.
pub fn suggest_for(known: &FieldRatings) -> Suggestion {
    let ratings = known.actives.iter().map(|(active, found)| (active.clone(), found.rating)).collect();
    let mut suggestion = suggest(&ratings);
    if suggestion.readings.is_empty() || matches!(suggestion.readings[..], [Reading::None]) {
        return suggestion;
    }
    let years: BTreeSet<i32> = known.actives.values().map(|found| found.year).collect();
    if let (Some(first), Some(last)) = (years.first(), years.last())
        && first != last
    {
        suggestion
            .reasons
            .push(format!("The tests are of several harvests, {first} to {last}: the population may have changed between."));
        let same = "Test all actives on one sample.";
        suggestion.settle.extend((!suggestion.settle.iter().any(|held| held == same)).then(|| same.to_owned()));
    }
    if known.actives.values().any(GroupRating::samples_differ) {
        let differ =
            "Samples of the field differ, and the worst of each active is read: the pattern may be that of no single plant.";
        suggestion.reasons.push(differ.to_owned());
    }
    suggestion
}

impl Suggestion {
    fn add(&mut self, reading: Reading, reason: impl Into<String>, settle: &str) {
        if !self.readings.contains(&reading) {
            self.readings.push(reading);
        }
        self.reasons.push(reason.into());
        if !settle.is_empty() && !self.settle.iter().any(|held| held == settle) {
            self.settle.push(settle.to_owned());
        }
    }

    /// The suggestion in one sentence.
    pub fn headline(&self) -> String {
        let words: Vec<&str> = self.readings.iter().map(|reading| reading.label()).collect();
        words.join("; ")
    }
}

const ACCASE_DNA: &str = "A leaf test for ACCase mutations settles the target site; a clear dim does not rule out a mutation that spares dims (2041, 2027, 2096).";

fn metabolism_or_accase(ratings: &BTreeMap<String, Rating>, suggestion: &mut Suggestion) {
    let pendimethalin = worst(ratings, |active| active == "pendimethalin");
    let fop = worst(ratings, |active| FOPS.contains(&active));
    let dim =
        worst(ratings, |active| DIMS.contains(&active)).or_else(|| worst(ratings, |active| OTHER_DIMS.contains(&active)));
    if pendimethalin.is_none() && fop.is_none() && dim.is_none() {
        return;
    }
    let word = |seen: Seen<'_>, missing: &str| {
        seen.map_or_else(|| format!("{missing} not tested"), |(rating, active)| format!("{active} {}", rating.label()))
    };
    let pattern = format!("{}, {}, {}", word(pendimethalin, "pendimethalin"), word(fop, "a fop"), word(dim, "cycloxydim"));
    let three = pendimethalin.is_some() && fop.is_some() && dim.is_some();
    let fops_only = susceptible(pendimethalin) && susceptible(dim) && (resistant(fop) || early(fop));
    if three && susceptible(pendimethalin) && susceptible(fop) && susceptible(dim) {
        suggestion.add(Reading::None, format!("{pattern}: none of the three is survived."), "");
    } else if fops_only {
        suggestion.add(
            Reading::FopsOnly,
            format!("{pattern}: only the fop is survived. Weak metabolism does this, and so does an ACCase mutation that spares dims."),
            ACCASE_DNA,
        );
    } else if early(pendimethalin) || early(fop) || early(dim) {
        suggestion.add(
            Reading::Early,
            format!("{pattern}: with an R? among them no mechanism is read from the pattern."),
            "Retest from the same place next year, with more plants.",
        );
    } else if three && resistant(pendimethalin) && resistant(fop) && susceptible(dim) {
        suggestion.add(
            Reading::Metabolism,
            format!("{pattern}: pendimethalin and the fop are survived, the dim is not. Enhanced metabolism does this."),
            ACCASE_DNA,
        );
    } else if three && susceptible(pendimethalin) && resistant(fop) && resistant(dim) {
        suggestion.add(
            Reading::AccaseTargetSite,
            format!("{pattern}: fop and dim are survived, pendimethalin is not. A changed ACCase target site does this."),
            ACCASE_DNA,
        );
    } else if three && resistant(pendimethalin) && resistant(fop) && resistant(dim) {
        suggestion.add(
            Reading::Metabolism,
            format!("{pattern}: all three are survived. Both enhanced metabolism and the ACCase target site are suggested."),
            "",
        );
        suggestion.add(Reading::AccaseTargetSite, "Fop and dim together point to the target site.", ACCASE_DNA);
    } else {
        let missing: Vec<&str> = [(pendimethalin, "pendimethalin"), (fop, "a fop"), (dim, "cycloxydim")]
            .iter()
            .filter(|(seen, _)| seen.is_none())
            .map(|(_, name)| *name)
            .collect();
        if missing.is_empty() {
            let settle = "Repeat the seed test with its standards; this pattern is not one that is usually seen.";
            suggestion.add(Reading::Undecided, format!("{pattern}: not a pattern of the table."), settle);
        } else {
            let settle =
                format!("Test {} beside the others: the three together separate the mechanisms.", missing.join(" and "));
            suggestion.add(Reading::Undecided, format!("{pattern}."), &settle);
        }
    }
}

fn als(ratings: &BTreeMap<String, Rating>, suggestion: &mut Suggestion) {
    let is_als = |active: &str| crate::model::mode_of_action(active).is_some_and(|mode| mode.group == "2");
    let field = worst(ratings, |active| is_als(active) && active != "sulfometuron");
    let probe = worst(ratings, |active| active == "sulfometuron");
    let dna = "A leaf test for ALS mutations (Pro-197, Trp-574) tells target site from metabolism.";
    let said = |seen: Seen<'_>| seen.map_or(String::new(), |(rating, active)| format!("{active} {}", rating.label()));
    if resistant(probe) {
        suggestion.add(
            Reading::AlsTargetSite,
            format!("{}: sulfometuron is little metabolised, so survivors point to the target site.", said(probe)),
            dna,
        );
    } else if resistant(field) && susceptible(probe) {
        suggestion.add(
            Reading::AlsMetabolism,
            format!("{}, {}: the one that plants can metabolise is survived, the other is not.", said(field), said(probe)),
            dna,
        );
    } else if resistant(field) {
        suggestion.add(
            Reading::AlsEither,
            format!("{}: target site or metabolism; a pot test cannot tell which.", said(field)),
            dna,
        );
    } else if early(field) || early(probe) {
        let seen = if early(field) { field } else { probe };
        suggestion.add(
            Reading::Early,
            format!("{}: early signs, no mechanism is assigned.", said(seen)),
            "Retest from the same place next year, with more plants.",
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use Rating::{RQuestion, RR, RRR, S};

    fn read(ratings: &[(&str, Rating)]) -> Suggestion {
        suggest(&ratings.iter().map(|(active, rating)| ((*active).to_owned(), *rating)).collect())
    }

    fn three(pendimethalin: Rating, fop: Rating, dim: Rating) -> Vec<Reading> {
        read(&[("pendimethalin", pendimethalin), ("fenoxaprop", fop), ("cycloxydim", dim)]).readings
    }

    #[test]
    fn the_table_of_the_seed_test() {
        // Each row of the published reading (see the head of this file).
        assert_eq!(three(S, S, S), [Reading::None]);
        assert_eq!(three(RR, RRR, S), [Reading::Metabolism]);
        assert_eq!(three(S, RRR, RR), [Reading::AccaseTargetSite]);
        assert_eq!(three(RRR, RR, RRR), [Reading::Metabolism, Reading::AccaseTargetSite]);
        assert_eq!(three(S, RR, S), [Reading::FopsOnly]);
        assert_eq!(three(S, RQuestion, S), [Reading::FopsOnly]);
        assert_eq!(three(RQuestion, RR, S), [Reading::Early]);
        assert_eq!(three(RR, S, S), [Reading::Undecided]);
    }

    #[test]
    fn als_by_itself_cannot_be_told_apart() {
        let mixture = "mesosulfuron+iodosulfuron";
        assert_eq!(read(&[(mixture, RRR)]).readings, [Reading::AlsEither]);
        assert_eq!(read(&[(mixture, RRR), ("sulfometuron", RR)]).readings, [Reading::AlsTargetSite]);
        assert_eq!(read(&[(mixture, RRR), ("sulfometuron", S)]).readings, [Reading::AlsMetabolism]);
        assert_eq!(read(&[(mixture, RQuestion)]).readings, [Reading::Early]);
    }

    #[test]
    fn a_missing_test_is_named() {
        let suggestion = read(&[("clodinafop", RRR)]);
        assert_eq!(suggestion.readings, [Reading::Undecided]);
        assert!(suggestion.settle[0].contains("pendimethalin and cycloxydim"), "{suggestion:?}");
        assert!(read(&[("glyphosate", RQuestion)]).readings == [Reading::Glyphosate]);
        assert_eq!(read(&[("flufenacet", S)]).readings, [Reading::None]);
        assert_eq!(read(&[("flufenacet", RR)]).readings, [Reading::Undecided]);
        assert_eq!(read(&[]), Suggestion::default());
    }
}

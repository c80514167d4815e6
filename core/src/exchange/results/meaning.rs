//! What a column of a laboratory's table can mean, and the headings that say so.

use crate::formats::plain_name;
use crate::model::{Measure, modes_of_action};

/// The meaning of a column.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Meaning {
    /// Code on the envelope, or the name of a standard.
    Sample,
    /// Field the seed is from.
    Field,
    /// Farm of the field.
    Farm,
    /// Harvest year.
    Year,
    /// Day the test was read.
    Date,
    /// Petri or pot.
    Assay,
    /// Active ingredient.
    Active,
    /// Reduction against untreated, %.
    Reduction,
    /// Reduction of the susceptible standard, %.
    StandardReduction,
    /// Standard error, points.
    StandardError,
    /// Plants or seeds tested.
    Number,
    /// Dose.
    Dose,
    /// The laboratory's rating.
    LabRating,
    /// What was rated.
    Measure,
    /// The laboratory.
    Laboratory,
    /// A remark on the result.
    Comment,
    /// Whether the row is a sample or a standard, and which.
    Role,
    /// Number of the pot or dish.
    Replicate,
    /// Plants alive in a treated pot.
    Alive,
    /// Plants dead in a treated pot.
    Dead,
    /// Plants in a treated pot.
    Plants,
    /// Seeds with a shoot in a treated dish.
    Shoots,
    /// Seeds sown in a treated dish.
    Sown,
    /// Weight of a treated pot, g.
    Weight,
    /// Plants alive in an untreated pot.
    UntreatedAlive,
    /// Plants in an untreated pot.
    UntreatedPlants,
    /// Seeds with a shoot in an untreated dish.
    UntreatedShoots,
    /// Seeds sown in an untreated dish.
    UntreatedSown,
    /// Weight of an untreated pot, g.
    UntreatedWeight,
}

/// Each meaning with its own heading, and other headings that say the same (plain: lower case, no blanks or marks).
const HEADINGS: [(Meaning, &str, &[&str]); 29] = [
    (
        Meaning::Sample,
        "sample",
        &[
            "samplecode",
            "sampleno",
            "sampleid",
            "sampleref",
            "samplenumber",
            "samplename",
            "code",
            "ref",
            "reference",
            "labref",
            "population",
            "biotype",
            "envelope",
        ],
    ),
    (Meaning::Field, "field", &["fieldname", "fieldid"]),
    (Meaning::Farm, "farm", &["farmname", "holding", "site"]),
    (Meaning::Year, "year", &["harvestyear", "harvest", "season", "yearofharvest", "sampleyear"]),
    (
        Meaning::Date,
        "date",
        &["testdate", "dateread", "dateassessed", "assessmentdate", "reportdate", "datetested", "dateoftest"],
    ),
    (Meaning::Assay, "assay", &["assaytype", "testtype", "test", "typeoftest", "method", "kind"]),
    (
        Meaning::Active,
        "active",
        &["activeingredient", "activesubstance", "herbicide", "ai", "treatment", "chemical", "activeingredients"],
    ),
    (
        Meaning::Reduction,
        "reduction_percent",
        &[
            "reduction",
            "reductionpct",
            "pctreduction",
            "percentreduction",
            "red",
            "redpct",
            "control",
            "controlpct",
            "pctcontrol",
            "percentcontrol",
            "mortality",
            "mortalitypct",
            "pctmortality",
            "kill",
            "pctkill",
            "result",
            "resultpct",
            "value",
            "pct",
        ],
    ),
    (
        Meaning::StandardReduction,
        "standard_percent",
        &[
            "standard",
            "standardpct",
            "std",
            "stdpct",
            "pctstandard",
            "standardreduction",
            "susceptiblestandard",
            "susceptiblestandardpct",
            "sstandard",
            "sstandardpct",
            "sstd",
            "sstdpct",
            "stdreduction",
            "stdred",
        ],
    ),
    (Meaning::StandardError, "se", &["standarderror", "stderr", "sepct", "sem"]),
    (
        Meaning::Number,
        "n",
        &["plantstested", "seedstested", "numbertested", "nplants", "nseeds", "noofplants", "noofseeds", "notested"],
    ),
    (Meaning::Dose, "dose", &["rate", "doserate", "concentration", "conc", "doseapplied", "dosage"]),
    (
        Meaning::LabRating,
        "lab_rating",
        &[
            "rating",
            "labrating",
            "rrating",
            "resistancerating",
            "resistancestatus",
            "status",
            "rclass",
            "class",
            "resistance",
            "ratinglab",
        ],
    ),
    (Meaning::Measure, "measure", &["measured", "measurement", "assessment", "basis", "ratedby"]),
    (Meaning::Laboratory, "laboratory", &["lab", "labname", "laboratoryname", "testedby"]),
    (Meaning::Comment, "comment", &["comments", "labcomment", "labcomments"]),
    (Meaning::Role, "role", &["type", "sampletype", "entrytype"]),
    (Meaning::Replicate, "replicate", &["rep", "repno", "pot", "potno", "dish", "dishno", "block"]),
    (
        Meaning::Alive,
        "alive",
        &["alivetreated", "treatedalive", "survivors", "plantsalive", "survived", "live", "survivorstreated"],
    ),
    (Meaning::Dead, "dead", &["deadtreated", "treateddead", "plantsdead", "killed"]),
    (
        Meaning::Plants,
        "plants",
        &[
            "treatedplants",
            "plantstreated",
            "total",
            "totalplants",
            "plantsperpot",
            "sprayed",
            "plantssprayed",
            "treatedtotal",
        ],
    ),
    (Meaning::Shoots, "shoots", &["treatedshoots", "shootstreated", "germinated", "treatedgerminated", "shootstreateddish"]),
    (Meaning::Sown, "sown", &["treatedsown", "seeds", "seedssown", "sowntreated", "seedsperdish"]),
    (
        Meaning::Weight,
        "weight_g",
        &[
            "weight",
            "freshweight",
            "freshweightg",
            "treatedweight",
            "treatedweightg",
            "fw",
            "fwg",
            "foliageweight",
            "foliageweightg",
            "weighttreated",
            "weighttreatedg",
            "treatedg",
        ],
    ),
    (Meaning::UntreatedAlive, "untreated_alive", &["aliveuntreated", "untreatedsurvivors", "controlalive"]),
    (Meaning::UntreatedPlants, "untreated_plants", &["untreatedtotal", "plantsuntreated"]),
    (Meaning::UntreatedShoots, "untreated_shoots", &["shootsuntreated", "controlshoots", "untreatedgerminated"]),
    (Meaning::UntreatedSown, "untreated_sown", &["sownuntreated", "untreatedseeds"]),
    (
        Meaning::UntreatedWeight,
        "untreated_weight_g",
        &["untreatedweight", "weightuntreated", "weightuntreatedg", "controlweight", "untreatedg"],
    ),
];

impl Meaning {
    /// Every meaning, in the order they are offered.
    pub fn all() -> impl Iterator<Item = Self> {
        HEADINGS.iter().map(|(meaning, ..)| *meaning)
    }

    /// Its own heading.
    pub fn heading(self) -> &'static str {
        HEADINGS.iter().find(|(meaning, ..)| *meaning == self).map_or("", |(_, heading, _)| heading)
    }

    /// The meaning whose own heading this is.
    pub fn of_heading(heading: &str) -> Option<Self> {
        HEADINGS.iter().find(|(_, own, _)| plain(own) == plain(heading)).map(|(meaning, ..)| *meaning)
    }

    /// What is rated when a column of this meaning is there.
    pub(super) fn measure(self) -> Option<Measure> {
        match self {
            Self::Alive | Self::Dead | Self::Plants | Self::UntreatedAlive | Self::UntreatedPlants => {
                Some(Measure::Survival)
            }
            Self::Shoots | Self::Sown | Self::UntreatedShoots | Self::UntreatedSown => Some(Measure::Shoots),
            Self::Weight | Self::UntreatedWeight => Some(Measure::FreshWeight),
            _ => None,
        }
    }

    /// Whether it holds what was found: a row without any such cell is no result.
    pub(super) fn is_value(self) -> bool {
        self.measure().is_some() || matches!(self, Self::Reduction | Self::LabRating)
    }
}

/// A heading without what is written differently: case, blanks, marks; "%" is "pct".
pub(in crate::exchange) fn plain(heading: &str) -> String {
    plain_name(&heading.to_lowercase().replace('%', " pct ").replace("percentage", "pct").replace("percent", "pct"))
        .chars()
        .filter(|c| c.is_alphanumeric())
        .collect()
}

/// The meaning of a heading and the number at its end ("alive 2"), if it has one.
pub(super) fn meaning(heading: &str) -> Option<(Meaning, Option<u32>)> {
    let whole = plain(heading);
    let exact = |text: &str| {
        HEADINGS.iter().find(|(_, own, others)| plain(own) == text || others.contains(&text)).map(|(meaning, ..)| *meaning)
    };
    if let Some(found) = exact(&whole) {
        return Some((found, None));
    }
    let bare = whole.trim_end_matches(|c: char| c.is_ascii_digit());
    let number = whole.get(bare.len()..)?.parse().ok()?;
    let bare = bare.trim_end_matches("rep").trim_end_matches("pot");
    exact(bare).filter(|found| found.measure().is_some()).map(|found| (found, Some(number)))
}

/// An active ingredient named in a heading, or several joined by "+", and what is left of the heading.
pub(super) fn active_in(heading: &str) -> Option<(String, String)> {
    let lower = heading.to_lowercase();
    let mut found: Vec<(usize, usize, &str)> = Vec::new();
    for active in modes_of_action().iter().flat_map(|mode| mode.actives.iter().copied()) {
        for (at, _) in lower.match_indices(active) {
            let letter = |c: Option<char>| c.is_some_and(char::is_alphanumeric);
            let end = at + active.len();
            if letter(lower[..at].chars().next_back()) || letter(lower[end..].chars().next()) {
                continue;
            }
            // "fenoxaprop" inside "fenoxaprop-p": the longer name stands.
            if !found.iter().any(|(from, to, _)| *from <= at && end <= *to) {
                found.retain(|(from, to, _)| !(at <= *from && *to <= end));
                found.push((at, end, active));
            }
        }
    }
    found.sort_unstable();
    let (first, last) = (found.first()?.0, found.last()?.1);
    let active = found.iter().map(|(_, _, active)| *active).collect::<Vec<_>>().join("+");
    let rest = format!("{} {}", &lower[..first], &lower[last..]);
    Some((active, rest.trim_matches(|c: char| !c.is_alphanumeric() && c != '%').to_owned()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn headings_in_other_words() {
        for (heading, wanted) in [
            ("Sample No.", Meaning::Sample),
            ("% reduction", Meaning::Reduction),
            ("Reduction (%)", Meaning::Reduction),
            ("REDUCTION_PERCENT", Meaning::Reduction),
            ("S standard %", Meaning::StandardReduction),
            ("R rating", Meaning::LabRating),
            ("Active ingredient", Meaning::Active),
        ] {
            assert_eq!(meaning(heading), Some((wanted, None)), "{heading}");
        }
        assert_eq!(meaning("Alive 2"), Some((Meaning::Alive, Some(2))));
        assert_eq!(meaning("Untreated weight (g) 3"), Some((Meaning::UntreatedWeight, Some(3))));
        assert_eq!(meaning("remark"), None);
        for own in Meaning::all() {
            assert_eq!(meaning(own.heading()), Some((own, None)));
            assert_eq!(Meaning::of_heading(own.heading()), Some(own));
        }
    }

    #[test]
    fn actives_in_headings() {
        assert_eq!(active_in("Cycloxydim % reduction"), Some(("cycloxydim".into(), "% reduction".into())));
        assert_eq!(active_in("Fenoxaprop-P rating"), Some(("fenoxaprop-p".into(), "rating".into())));
        let mixture = active_in("Mesosulfuron + iodosulfuron (300 g/ha)").unwrap();
        assert_eq!(mixture, ("mesosulfuron+iodosulfuron".into(), "300 g/ha".into()));
        assert_eq!(active_in("Sample"), None);
    }
}

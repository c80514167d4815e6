//! What a column of a laboratory's table can mean, and the headings that say so.

use crate::exchange::results::headings::by_words;
use crate::formats::plain_name;
use crate::model::Measure;

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
    /// Day the seed was taken.
    Taken,
    /// Petri or pot.
    Assay,
    /// Active ingredient.
    Active,
    /// Reduction against untreated, %.
    Reduction,
    /// What is left of untreated, %: 100 less the reduction.
    Surviving,
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
    /// Plants dead in an untreated pot.
    UntreatedDead,
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
const HEADINGS: [(Meaning, &str, &[&str]); 32] = [
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
            "labno",
            "labnumber",
            "labid",
            "ourref",
            "yourref",
            "clientref",
            "id",
            "code",
            "ref",
            "reference",
            "labref",
            "population",
            "biotype",
            "envelope",
        ],
    ),
    (
        Meaning::Field,
        "field",
        &[
            "fieldname",
            "fieldid",
            "fieldno",
            "fieldref",
            "fieldpatch",
            "fieldsite",
            "parcel",
            "location",
            "fieldlocation",
            "origin",
        ],
    ),
    (Meaning::Farm, "farm", &["farmname", "holding", "site", "grower", "farmer", "client", "clientname", "customer"]),
    (
        Meaning::Year,
        "year",
        &["harvestyear", "harvest", "season", "yearofharvest", "sampleyear", "yearsampled", "cropyear", "samplingyear"],
    ),
    (
        Meaning::Date,
        "date",
        &[
            "testdate",
            "dateread",
            "dateassessed",
            "assessmentdate",
            "reportdate",
            "datetested",
            "dateoftest",
            "testedon",
            "readon",
            "assessedon",
        ],
    ),
    (
        Meaning::Taken,
        "taken",
        &[
            "datesampled",
            "sampledate",
            "datetaken",
            "sampled",
            "collected",
            "datecollected",
            "sampledon",
            "takenon",
            "collectedon",
        ],
    ),
    (Meaning::Assay, "assay", &["assaytype", "testtype", "test", "typeoftest", "method", "kind"]),
    (
        Meaning::Active,
        "active",
        &[
            "activeingredient",
            "activesubstance",
            "activesubstances",
            "herbicide",
            "herbicideai",
            "herbicideactive",
            "herbicidetested",
            "testedherbicide",
            "ai",
            "as",
            "treatment",
            "chemical",
            "compound",
            "activeingredients",
        ],
    ),
    (
        Meaning::Reduction,
        "reduction_percent",
        &[
            "reduction",
            "resultpctreduction",
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
    (Meaning::Surviving, "surviving_percent", &["survivingpct", "pctofuntreated", "pctuntreated"]),
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
    (
        Meaning::StandardError,
        "se",
        &["standarderror", "stderr", "stderror", "sepct", "sem", "seofmean", "semean", "standarderrorpct"],
    ),
    (
        Meaning::Number,
        "n",
        &[
            "plantstested",
            "seedstested",
            "numbertested",
            "nplants",
            "nseeds",
            "noplants",
            "noseeds",
            "noofplants",
            "noofseeds",
            "noofplantstested",
            "noofseedstested",
            "numberofplants",
            "numberofseeds",
            "numberofplantstested",
            "numberofseedstested",
            "notested",
        ],
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
            "interpretation",
            "conclusion",
            "classification",
            "category",
            "ratinglab",
        ],
    ),
    (Meaning::Measure, "measure", &["measured", "measurement", "assessment", "basis", "ratedby"]),
    (Meaning::Laboratory, "laboratory", &["lab", "labname", "laboratoryname", "testedby"]),
    (
        Meaning::Comment,
        "comment",
        &["comments", "labcomment", "labcomments", "remark", "remarks", "note", "notes", "observations"],
    ),
    (Meaning::Role, "role", &["type", "sampletype", "entrytype", "populationtype", "standardtype"]),
    (
        Meaning::Replicate,
        "replicate",
        &[
            "rep",
            "repno",
            "repnumber",
            "replicateno",
            "replication",
            "pot",
            "potno",
            "potnumber",
            "dish",
            "dishno",
            "dishnumber",
            "tray",
            "block",
        ],
    ),
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
    (Meaning::UntreatedDead, "untreated_dead", &["deaduntreated"]),
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
            Self::Alive | Self::Dead | Self::Plants | Self::UntreatedAlive | Self::UntreatedDead | Self::UntreatedPlants => {
                Some(Measure::Survival)
            }
            Self::Shoots | Self::Sown | Self::UntreatedShoots | Self::UntreatedSown => Some(Measure::Shoots),
            Self::Weight | Self::UntreatedWeight => Some(Measure::FreshWeight),
            _ => None,
        }
    }

    /// Whether it holds what was found: a row without any such cell is no result.
    pub(super) fn is_value(self) -> bool {
        self.measure().is_some() || matches!(self, Self::Reduction | Self::Surviving | Self::LabRating)
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
    if let Some(found) = by_words(heading) {
        return Some((found, None));
    }
    let bare = whole.trim_end_matches(|c: char| c.is_ascii_digit());
    let number = whole.get(bare.len()..)?.parse().ok()?;
    let bare = bare.trim_end_matches("rep").trim_end_matches("pot");
    let of_words = || by_words(heading.trim_end_matches(|c: char| c.is_ascii_digit() || c == ' '));
    exact(bare).or_else(of_words).filter(|found| found.measure().is_some()).map(|found| (found, Some(number)))
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
        assert_eq!(meaning("price"), None);
        for own in Meaning::all() {
            assert_eq!(meaning(own.heading()), Some((own, None)));
            assert_eq!(Meaning::of_heading(own.heading()), Some(own));
        }
    }
}

//! Headings that no list foresees, understood word by word: what is counted or weighed, treated or not, per cent or not.
//!
//! A heading is understood only if every one of its words is: "% reduction in foliage fresh weight" is a reduction, "reduction
//! in price" is nothing.

use crate::exchange::results::meaning::Meaning;

/// Words that say nothing by themselves.
const FILLERS: [&str; 22] = [
    "no",
    "nr",
    "num",
    "number",
    "of",
    "the",
    "per",
    "in",
    "by",
    "for",
    "a",
    "mean",
    "average",
    "avg",
    "value",
    "values",
    "count",
    "counts",
    "final",
    "overall",
    "total",
    "herbicide",
];
/// Words beside a percentage of control.
const BESIDE_CONTROL: [&str; 26] = [
    "pct",
    "foliage",
    "fresh",
    "weight",
    "wt",
    "plant",
    "plants",
    "shoot",
    "shoots",
    "seedling",
    "seedlings",
    "against",
    "vs",
    "versus",
    "from",
    "relative",
    "compared",
    "to",
    "with",
    "untreated",
    "corrected",
    "abbott",
    "abbotts",
    "adjusted",
    "biomass",
    "percentage",
];
const CONTROL: [&str; 9] = ["reduction", "red", "control", "mortality", "kill", "killed", "efficacy", "dead", "redn"];
const SURVIVAL: [&str; 7] = ["survival", "surviving", "survivors", "survivor", "survived", "alive", "live"];
const STANDARD: [&str; 11] =
    ["standard", "standards", "std", "susceptible", "sensitive", "susc", "sus", "sens", "reference", "check", "stnd"];
const UNTREATED: [&str; 7] = ["untreated", "unt", "utc", "nil", "unsprayed", "control", "controls"];

/// The words of a heading, lower case; "%" is "pct".
fn words(heading: &str) -> Vec<String> {
    let text = heading.to_lowercase().replace('%', " pct ").replace("percentage", "pct").replace("percent", "pct");
    let text = text.replace("per cent", "pct").replace("red'n", "reduction").replace("redn.", "reduction");
    text.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).map(str::to_owned).collect()
}

/// The meaning of a heading by its words.
pub(super) fn by_words(heading: &str) -> Option<Meaning> {
    let words = words(heading);
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let has = |any: &[&str]| words.iter().any(|word| any.contains(word));
    let only = |lists: &[&[&str]]| words.iter().all(|word| lists.iter().any(|list| list.contains(word)));
    let pct = has(&["pct"]);
    // The standard's own error or spread is no standard, and another standard is not the susceptible one.
    if has(&STANDARD) && !has(&["error", "err", "deviation", "dev", "r", "resistant"]) {
        let known = only(&[&STANDARD, &CONTROL, &BESIDE_CONTROL, &FILLERS, &["s", "population", "biotype", "same", "test"]]);
        return known.then_some(Meaning::StandardReduction);
    }
    let counted = counted(&words);
    if pct && has(&SURVIVAL) && !has(&CONTROL) {
        return only(&[&SURVIVAL, &BESIDE_CONTROL, &FILLERS]).then_some(Meaning::Surviving);
    }
    if pct && has(&["untreated", "utc"]) && !has(&CONTROL) {
        return only(&[&UNTREATED, &BESIDE_CONTROL, &FILLERS]).then_some(Meaning::Surviving);
    }
    if has(&CONTROL) && counted.is_none() {
        return only(&[&CONTROL, &BESIDE_CONTROL, &FILLERS]).then_some(Meaning::Reduction);
    }
    if has(&["rating", "ratings"]) || has(&["resistance"]) && has(&["class", "status", "category", "level", "score"]) {
        let beside =
            ["rating", "ratings", "resistance", "class", "status", "category", "level", "score", "lab", "laboratory"];
        return only(&[&beside, &FILLERS, &["r", "system", "scale", "rrr", "s", "result"]]).then_some(Meaning::LabRating);
    }
    if let Some(found) = counted.filter(|_| !pct) {
        return Some(found);
    }
    if has(&["sample", "samples", "envelope", "bag", "population", "accession"]) && !has(&["date", "type", "year", "taken"])
    {
        let beside = [
            "sample",
            "samples",
            "envelope",
            "bag",
            "population",
            "accession",
            "code",
            "id",
            "ref",
            "reference",
            "name",
            "identification",
            "identifier",
            "label",
            "your",
            "client",
            "probe",
            "customer",
            "lab",
            "our",
            "seed",
        ];
        return only(&[&beside, &FILLERS]).then_some(Meaning::Sample);
    }
    if has(&["date", "day"]) {
        return dated(&words);
    }
    None
}

/// What was counted or weighed, by the words of a heading.
fn counted(words: &[&str]) -> Option<Meaning> {
    let has = |any: &[&str]| words.iter().any(|word| any.contains(word));
    let untreated = has(&UNTREATED);
    let (kind, known): (Meaning, &[&str]) = if has(&SURVIVAL) {
        (if untreated { Meaning::UntreatedAlive } else { Meaning::Alive }, &SURVIVAL)
    } else if has(&["dead", "died", "killed"]) {
        (if untreated { Meaning::UntreatedDead } else { Meaning::Dead }, &["dead", "died", "killed"])
    } else if has(&["shoots", "shoot", "germinated", "emerged", "germinating"]) {
        let known: &[&str] =
            &["shoots", "shoot", "germinated", "emerged", "germinating", "with", "cm", "over", "than", "longer"];
        (if untreated { Meaning::UntreatedShoots } else { Meaning::Shoots }, known)
    } else if has(&["weight", "wt", "fw", "biomass", "mass"]) {
        // Weights in another unit than g would be kept as if they were g.
        let known: &[&str] = &["weight", "wt", "fw", "biomass", "mass", "fresh", "foliage", "g", "grams", "gram"];
        (if untreated { Meaning::UntreatedWeight } else { Meaning::Weight }, known)
    } else if has(&["sown", "seeds"]) {
        (if untreated { Meaning::UntreatedSown } else { Meaning::Sown }, &["sown", "seeds"])
    } else if has(&["plants"]) && (untreated || has(&["treated", "sprayed", "total", "pot"])) {
        (if untreated { Meaning::UntreatedPlants } else { Meaning::Plants }, &["sprayed"])
    } else {
        return None;
    };
    let beside: &[&str] =
        &["plants", "plant", "seeds", "seedlings", "treated", "sprayed", "pot", "dish", "after", "spraying"];
    words
        .iter()
        .all(|word| {
            *word == "1" && has(&["cm"])
                || known.contains(word)
                || beside.contains(word)
                || FILLERS.contains(word)
                || UNTREATED.contains(word)
        })
        .then_some(kind)
}

/// A day: that of the test, or that on which the seed was taken.
fn dated(words: &[&str]) -> Option<Meaning> {
    let has = |any: &[&str]| words.iter().any(|word| any.contains(word));
    let of_test = ["test", "tested", "assessed", "assessment", "read", "report", "reported", "scored", "counted", "weighed"];
    let of_seed = ["sample", "sampled", "sampling", "taken", "collected", "collection", "collecting", "seed"];
    let known =
        |word: &&str| of_test.contains(word) || of_seed.contains(word) || matches!(*word, "date" | "day" | "of" | "the");
    if !words.iter().all(known) {
        return None;
    }
    Some(if has(&of_seed) && !has(&of_test) { Meaning::Taken } else { Meaning::Date })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn headings_by_their_words() {
        use Meaning::*;
        for (heading, wanted) in [
            ("Mean % reduction in foliage fresh weight", Some(Reduction)),
            ("Reduction vs. untreated (%)", Some(Reduction)),
            ("Efficacy %", Some(Reduction)),
            ("Corrected mortality (Abbott)", Some(Reduction)),
            ("% survival", Some(Surviving)),
            ("Fresh weight (% of untreated)", Some(Surviving)),
            ("Susceptible std. (% red.)", Some(StandardReduction)),
            ("Sensitive reference, % control", Some(StandardReduction)),
            ("Standard deviation", None),
            ("R standard %", None),
            ("No. of plants surviving", Some(Alive)),
            ("Untreated: no. alive", Some(UntreatedAlive)),
            ("Plants dead", Some(Dead)),
            ("Shoots > 1 cm (untreated)", Some(UntreatedShoots)),
            ("Fresh wt. per pot (g)", Some(Weight)),
            ("Fresh weight (mg)", None),
            ("Control fresh weight g", Some(UntreatedWeight)),
            ("Total plants sprayed", Some(Plants)),
            ("Resistance category", Some(LabRating)),
            ("Your sample ref.", Some(Sample)),
            ("Date sampled", Some(Taken)),
            ("Date of assessment", Some(Date)),
            ("Reduction in price", None),
            ("Survivors per pot", Some(Alive)),
            ("Remark", None),
        ] {
            assert_eq!(by_words(heading), wanted, "{heading}");
        }
    }
}

//! One result rated: the reduction, its standard, how sure the class is, and whatever speaks against it.
//!
//! The class goes by the limits of [`crate::rating::scale`]. The share of a class is what the confidence distribution of the
//! reduction puts between its limits, averaged over that of the standard where the standard's own error is known.

use std::sync::Arc;

use crate::model::{Measure, Rating, Records, Standard, StandardRole, TestResult};
use crate::rating::difference;
use crate::rating::evidence::Evidence;
use crate::rating::scale::{limits, rate};

/// Shares of the four ratings, best first; they add up to 1.
pub type ClassShares = [f64; 4];

/// A standard's distribution is taken at so many points of equal chance.
const POINTS: usize = 40;

/// How sure a rating is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sureness {
    /// 95 % interval of the reduction, %; none if it has no end.
    pub interval: Option<[f64; 2]>,
    /// Share of each rating, in the order of [`Rating::ALL`]; none without a standard.
    pub class_shares: Option<ClassShares>,
    /// How the interval was worked out.
    pub method: &'static str,
    /// Whether the standard's own error is in the shares.
    pub standard_unsure: bool,
}

impl Sureness {
    /// The share of one rating.
    pub fn share(&self, rating: Rating) -> Option<f64> {
        self.class_shares.map(|shares| shares[rating as usize])
    }
}

/// Something that speaks against a rating, and what follows from it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Doubt {
    /// What is wrong or uncertain.
    pub what: String,
    /// What it means for the rating.
    pub so: String,
}

/// Whose rating speaks for a field.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum RatedBy {
    /// Worked out here from the figures.
    #[default]
    Us,
    /// The laboratory's own, taken over: there are no figures, or no standard, to work one out from.
    Laboratory,
}

impl RatedBy {
    /// Stands behind a rating that is the laboratory's: " lab"; nothing behind ours.
    pub fn mark(self) -> &'static str {
        match self {
            Self::Us => "",
            Self::Laboratory => " lab",
        }
    }

    /// The word used in files.
    pub fn label(self) -> &'static str {
        match self {
            Self::Us => "awn",
            Self::Laboratory => "laboratory",
        }
    }

    /// Whether it is the laboratory's.
    pub fn is_laboratory(self) -> bool {
        self == Self::Laboratory
    }
}

/// A rating that speaks for a field, and whose it is. The worse of two is the greater; of two alike, the laboratory's is the
/// smaller, so that ours is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Counted {
    /// The rating.
    pub rating: Rating,
    /// Whose.
    pub by: RatedBy,
}

impl Counted {
    /// The rating with its mark: "RR", "RR lab".
    pub fn words(self) -> String {
        format!("{}{}", self.rating.label(), self.by.mark())
    }
}

impl PartialOrd for Counted {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Counted {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.rating.cmp(&other.rating).then(other.by.cmp(&self.by))
    }
}

/// A result rated.
#[derive(Debug, Clone, PartialEq)]
pub struct Assessment {
    /// Reduction that is rated, %: from counts or weights where they are known, else as printed; none: the laboratory gave its
    /// rating alone.
    pub reduction: Option<f64>,
    /// What it rests on, if more than the figure is known.
    pub evidence: Option<Evidence>,
    /// Reduction of the susceptible standard, %.
    pub standard: Option<f64>,
    /// The standard's record, if the test has one.
    pub standard_record: Option<Arc<Standard>>,
    /// Lower limits of S, R? and RR, %.
    pub limits: Option<[f64; 3]>,
    /// Rating by the limits alone.
    pub by_limits: Option<Rating>,
    /// Our rating: by the limits, and by the difference from the standard where that is set.
    pub rating: Option<Rating>,
    /// How sure it is.
    pub sureness: Option<Sureness>,
    /// Chance of such a difference from the standard if there were none (Dunnett, one-sided).
    pub difference: Option<f64>,
    /// What speaks against it.
    pub doubts: Vec<Doubt>,
    /// The laboratory's rating, beside ours.
    pub lab: Option<Rating>,
    /// What counts for the field: ours, or the laboratory's where we cannot work one out.
    pub counted: Option<Counted>,
}

impl Assessment {
    /// Whether the laboratory's rating is the same as ours; none if either is missing.
    pub fn agrees(&self) -> Option<bool> {
        self.lab.zip(self.rating).map(|(lab, ours)| lab == ours)
    }

    /// Whether all there is is the laboratory's rating, not worked out by us.
    pub fn is_laboratory_only(&self) -> bool {
        self.counted.is_some_and(|counted| counted.by.is_laboratory())
    }
}

/// The standards of a result's assay with the same active and dose; those of the same measure go before those without.
pub fn standards_of<'a>(records: &'a Records, result: &'a TestResult) -> impl Iterator<Item = &'a Arc<Standard>> {
    records.standards.values().filter(move |standard| {
        standard.assay == result.assay
            && standard.active == result.active
            && (standard.dose == result.dose || standard.dose.is_none())
            && (standard.measure == result.measure || standard.measure.is_none() || result.measure.is_none())
    })
}

/// The susceptible standard of a result, if the test has one as a record.
pub fn susceptible<'a>(records: &'a Records, result: &'a TestResult) -> Option<&'a Arc<Standard>> {
    standards_of(records, result).find(|standard| standard.role == StandardRole::Susceptible)
}

/// What a standard rests on.
pub fn evidence_of(standard: &Standard) -> Option<Evidence> {
    let raw = standard.raw.as_ref().zip(standard.measure).and_then(|(raw, measure)| Evidence::from_raw(raw, measure).ok());
    raw.or_else(|| Evidence::printed(standard.reduction, standard.se, standard.n))
}

/// The reduction that is rated, %, and what it rests on; none: the laboratory gave its rating alone.
pub fn reduction_of(result: &TestResult) -> (Option<f64>, Option<Evidence>) {
    let raw = result.raw.as_ref().zip(result.measure).and_then(|(raw, measure)| Evidence::from_raw(raw, measure).ok());
    if let Some(evidence) = raw {
        return (Some(evidence.reduction()), Some(evidence));
    }
    let printed = |reduction| Evidence::printed(reduction, result.se, result.n);
    (result.reduction, result.reduction.and_then(printed))
}

/// The rating that counts for the field: ours, or the laboratory's own where there is no percentage or no standard to work one
/// out from. A standard that was not controlled leaves no rating at all: the test failed.
pub fn counted(records: &Records, result: &TestResult) -> Option<Counted> {
    if let Some(rating) = rating_of(records, result) {
        return Some(Counted { rating, by: RatedBy::Us });
    }
    let cannot = reduction_of(result).0.is_none() || standard_of(records, result).is_none();
    result.lab_rating.filter(|_| cannot).map(|rating| Counted { rating, by: RatedBy::Laboratory })
}

/// Our rating of a result, without how sure it is.
pub fn rating_of(records: &Records, result: &TestResult) -> Option<Rating> {
    let rating = by_limits(records, result)?;
    let must_differ = records.settings.results.must_differ;
    if must_differ && rating >= Rating::RR && difference::significant(records, result) == Some(false) {
        return Some(Rating::RQuestion);
    }
    Some(rating)
}

/// The reduction of the susceptible standard of a result, %.
pub fn standard_of(records: &Records, result: &TestResult) -> Option<f64> {
    let record = susceptible(records, result);
    record.map(|standard| evidence_of(standard).map_or(standard.reduction, |found| found.reduction())).or(result.standard)
}

fn by_limits(records: &Records, result: &TestResult) -> Option<Rating> {
    rate(reduction_of(result).0?, standard_of(records, result)?)
}

/// Rates a result.
pub fn assess(records: &Records, result: &TestResult) -> Assessment {
    let (reduction, evidence) = reduction_of(result);
    let standard_record = susceptible(records, result).cloned();
    let standard = standard_of(records, result);
    let standard_evidence = standard_record.as_deref().and_then(evidence_of);
    let by_limits = reduction.zip(standard).and_then(|(reduction, standard)| rate(reduction, standard));
    let sureness = evidence.map(|evidence| sureness(evidence, standard, standard_evidence));
    let mut assessment = Assessment {
        reduction,
        evidence,
        standard,
        standard_record,
        limits: by_limits.and(standard).map(limits),
        by_limits,
        rating: rating_of(records, result),
        sureness,
        difference: difference::chance(records, result),
        doubts: Vec::new(),
        lab: result.lab_rating,
        counted: counted(records, result),
    };
    assessment.doubts = super::doubts::doubts(records, result, &assessment);
    assessment
}

fn sureness(evidence: Evidence, standard: Option<f64>, standard_evidence: Option<Evidence>) -> Sureness {
    let spread = standard_evidence.filter(Evidence::has_spread);
    let shares = |standard: f64| {
        let [s, r_question, rr] = limits(standard).map(|limit| evidence.chance_below(limit));
        [1.0 - s, s - r_question, r_question - rr, rr]
    };
    let class_shares = standard.filter(|standard| *standard > 0.0 && evidence.has_spread()).map(|standard| match spread {
        None => shares(standard),
        Some(spread) => {
            let mut sum = [0.0; 4];
            for point in 0..POINTS {
                let at = spread.quantile((point as f64 + 0.5) / POINTS as f64).clamp(0.01, 100.0);
                sum.iter_mut().zip(shares(at)).for_each(|(sum, share)| *sum += share / POINTS as f64);
            }
            sum
        }
    });
    Sureness {
        interval: evidence.interval(),
        class_shares,
        method: evidence.method(),
        standard_unsure: class_shares.is_some() && spread.is_some(),
    }
}

/// Whether a measure counts plants or seeds.
pub(super) fn is_count(measure: Option<Measure>) -> bool {
    matches!(measure, Some(Measure::Survival | Measure::Shoots))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{AssayId, SampleId, StandardId};

    fn result(reduction: f64, se: Option<f64>, n: Option<u32>) -> TestResult {
        let plain = TestResult::printed(SampleId::new(), AssayId::new(), "cycloxydim", "1", reduction, Some(90.0));
        TestResult { se, n, ..plain }
    }

    fn sure(result: &TestResult) -> Sureness {
        assess(&Records::default(), result).sureness.unwrap()
    }

    #[test]
    fn shares_add_up_and_follow_the_interval() {
        for (se, n) in [(Some(6.0), None), (None, Some(18)), (None, Some(400))] {
            let sure = sure(&result(60.0, se, n));
            assert!((sure.class_shares.unwrap().iter().sum::<f64>() - 1.0).abs() < 1e-12, "{sure:?}");
            assert!(sure.share(Rating::RR).unwrap() > 0.5, "{sure:?}");
        }
        // On the limit of R? and RR the two sides share the chance evenly, for either kind of uncertainty.
        for (se, n) in [(Some(6.0), None), (None, Some(50))] {
            let sure = sure(&result(72.0, se, n));
            let worse = sure.share(Rating::RR).unwrap() + sure.share(Rating::RRR).unwrap();
            assert!((worse - 0.5).abs() < 1e-9, "{sure:?}");
        }
        // The interval's ends cut 2.5 % off on each side.
        let sure = sure(&result(72.0, Some(5.0), None));
        assert!((sure.interval.unwrap()[0] - 62.200_18).abs() < 1e-5, "{sure:?}");
    }

    #[test]
    fn an_unsure_standard_makes_the_class_less_sure() {
        let result = result(78.0, Some(1.0), None);
        let mut records = Records::default();
        let with = |records: &Records| assess(records, &result).sureness.unwrap().share(Rating::RQuestion).unwrap();
        let alone = with(&records);
        let standard = Standard {
            id: StandardId::new(),
            assay: result.assay,
            name: "standard S".into(),
            role: StandardRole::Susceptible,
            active: result.active.clone(),
            dose: None,
            measure: None,
            reduction: 90.0,
            se: Some(8.0),
            n: None,
            raw: None,
        };
        records.put(crate::model::Record::Standard(standard));
        assert!(alone > 0.99 && with(&records) < 0.6, "{alone} {}", with(&records));
    }

    #[test]
    fn nothing_is_said_of_sureness_without_error_or_number() {
        for se in [None, Some(0.0)] {
            assert_eq!(assess(&Records::default(), &result(60.0, se, None)).sureness, None);
        }
    }

    #[test]
    fn without_a_standard_there_is_a_reduction_and_no_rating() {
        let result = TestResult { standard: None, ..result(60.0, Some(3.0), None) };
        let assessment = assess(&Records::default(), &result);
        assert_eq!((assessment.rating, assessment.limits), (None, None));
        assert!(assessment.sureness.unwrap().interval.is_some());
        assert!(assessment.doubts.iter().any(|doubt| doubt.what.contains("no susceptible standard")), "{assessment:?}");
    }
}

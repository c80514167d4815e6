//! Several doses of one active: points for a curve, the curves of sample and standard, and the resistance factor.

use std::collections::BTreeMap;

use crate::model::{AssayId, Measure, Raw, Records, SampleId, StandardId, StandardRole, TestResult};
use crate::rating::assess::{evidence_of, reduction_of};
use crate::rating::curve::{Curve, Estimate, Shape};
use crate::rating::fit::fit;

/// So many doses above 0 are needed before a curve is fitted.
const LEAST_DOSES: usize = 3;

/// The number and unit of a dose as laboratories write it: "240 g/ha", "0.75 field rate", "5 ppm", "12+2.5 g/ha" (added up).
pub fn amount(text: &str) -> Option<f64> {
    number_and_unit(text).map(|(number, _)| number)
}

fn number_and_unit(text: &str) -> Option<(f64, String)> {
    let text = text.trim().to_lowercase().replace(',', ".");
    let end = text.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '+' | ' '))).unwrap_or(text.len());
    let (numbers, unit) = text.split_at(end);
    let mut sum = 0.0;
    for part in numbers.split('+') {
        sum += part.trim().parse::<f64>().ok().filter(|number| number.is_finite() && *number >= 0.0)?;
    }
    Some((sum, unit.split_whitespace().collect::<Vec<_>>().join(" ")))
}

/// The dose response of one population.
#[derive(Debug, Clone, PartialEq)]
pub struct Population {
    /// Points: dose, response in % of untreated.
    pub points: Vec<(f64, f64)>,
    /// The curve, if one can be fitted.
    pub curve: Option<Curve>,
}

/// The dose response of a sample beside its standard.
#[derive(Debug, Clone, PartialEq)]
pub struct DoseResponse {
    /// The sample.
    pub sample: SampleId,
    /// The assay.
    pub assay: AssayId,
    /// Active ingredient.
    pub active: String,
    /// What was rated.
    pub measure: Option<Measure>,
    /// Unit of the doses.
    pub unit: String,
    /// The sample's points and curve.
    pub own: Population,
    /// The susceptible standard's, if it was tested at several doses too.
    pub standard: Option<Population>,
    /// ED50 of the sample by that of the standard.
    pub factor: Option<Estimate>,
}

type Key = (SampleId, AssayId, String, Option<Measure>, String);

/// Every sample that was tested at several doses of an active in one assay.
pub fn dose_responses(records: &Records) -> Vec<DoseResponse> {
    responses(records, |_| true)
}

/// That of one sample and active, if it was tested at several doses.
pub fn dose_response(records: &Records, sample: SampleId, active: &str) -> Option<DoseResponse> {
    responses(records, |result| result.sample == sample && result.active == active).into_iter().next()
}

fn responses(records: &Records, wanted: impl Fn(&TestResult) -> bool) -> Vec<DoseResponse> {
    let mut groups: BTreeMap<Key, Vec<Point<'_>>> = BTreeMap::new();
    for result in records.results.values().filter(|result| wanted(result)) {
        let Some((dose, unit)) = result.dose.as_deref().and_then(number_and_unit) else { continue };
        let key = (result.sample, result.assay, result.active.clone(), result.measure, unit);
        if let Some(reduction) = reduction_of(result).0 {
            groups.entry(key).or_default().push((dose, reduction, result.raw.as_ref()));
        }
    }
    let several = groups.into_iter().filter(|(_, points)| distinct(points) >= LEAST_DOSES);
    several
        .map(|((sample, assay, active, measure, unit), points)| {
            let own = population(&points, measure);
            let standard =
                standard_points(records, assay, &active, measure, &unit).map(|points| population(&points, measure));
            let curves = own.curve.as_ref().zip(standard.as_ref().and_then(|standard| standard.curve.as_ref()));
            let factor = curves.map(|(own, standard)| own.resistance_factor(standard));
            DoseResponse { sample, assay, active, measure, unit, own, standard, factor }
        })
        .collect()
}

/// Dose, reduction in %, and what was counted or weighed.
type Point<'a> = (f64, f64, Option<&'a Raw>);

fn distinct(points: &[Point<'_>]) -> usize {
    let mut doses: Vec<f64> = points.iter().map(|point| point.0).filter(|dose| *dose > 0.0).collect();
    doses.sort_by(f64::total_cmp);
    doses.dedup();
    doses.len()
}

fn standard_points<'a>(
    records: &'a Records,
    assay: AssayId,
    active: &str,
    measure: Option<Measure>,
    unit: &str,
) -> Option<Vec<Point<'a>>> {
    let mut by_name: BTreeMap<String, Vec<(StandardId, Point<'a>)>> = BTreeMap::new();
    for standard in records.standards.values() {
        let same = standard.assay == assay
            && standard.role == StandardRole::Susceptible
            && standard.active == active
            && standard.measure == measure;
        let Some((dose, its_unit)) = standard.dose.as_deref().and_then(number_and_unit).filter(|_| same) else { continue };
        if its_unit == unit {
            let reduction = evidence_of(standard).map_or(standard.reduction, |evidence| evidence.reduction());
            let name = standard.name.to_lowercase();
            by_name.entry(name).or_default().push((standard.id, (dose, reduction, standard.raw.as_ref())));
        }
    }
    let points = by_name.into_values().max_by_key(Vec::len)?.into_iter().map(|(_, point)| point).collect::<Vec<_>>();
    (distinct(&points) >= LEAST_DOSES).then_some(points)
}

fn population(points: &[Point<'_>], measure: Option<Measure>) -> Population {
    let mut list = Vec::new();
    let mut controls: Vec<&[crate::model::Replicate]> = Vec::new();
    for (dose, reduction, raw) in points {
        let pots = raw.and_then(|raw| of_untreated(&raw.treated, &raw.untreated, measure));
        match pots {
            Some(pots) => list.extend(pots.into_iter().map(|response| (*dose, response))),
            None => list.push((*dose, 100.0 - reduction)),
        }
        // The same untreated pots may stand beside every dose: they count once.
        if let Some(raw) = raw.filter(|raw| !raw.untreated.is_empty() && !controls.contains(&raw.untreated.as_slice())) {
            controls.push(&raw.untreated);
        }
    }
    for control in &controls {
        list.extend(of_untreated(control, control, measure).into_iter().flatten().map(|response| (0.0, response)));
    }
    if controls.is_empty() && !list.iter().any(|point| point.0 == 0.0) {
        list.push((0.0, 100.0));
    }
    list.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let curve = best(&list);
    Population { points: list, curve }
}

/// Pots as per cent of the mean of untreated ones.
fn of_untreated(
    pots: &[crate::model::Replicate],
    untreated: &[crate::model::Replicate],
    measure: Option<Measure>,
) -> Option<Vec<f64>> {
    let value = |pot: &crate::model::Replicate| match measure? {
        Measure::FreshWeight => Some(pot.value),
        Measure::Survival | Measure::Shoots => Some(pot.value / pot.of?),
    };
    let base: Vec<f64> = untreated.iter().map(value).collect::<Option<_>>()?;
    let mean = base.iter().sum::<f64>() / base.len() as f64;
    let values: Vec<f64> = pots.iter().map(value).collect::<Option<_>>()?;
    (mean > 0.0).then(|| values.into_iter().map(|value| 100.0 * value / mean).collect())
}

/// Four parameters where the lower end is clearly above 0 (its 95 % interval stays above), three otherwise.
fn best(points: &[(f64, f64)]) -> Option<Curve> {
    let three = fit(points, Shape::Three);
    let four = fit(points, Shape::Four).filter(|curve| {
        let half = crate::rating::distributions::t_quantile(0.975, curve.df) * curve.errors()[1];
        curve.b > 0.0 && curve.c - half > 0.0
    });
    four.or(three).filter(|curve| curve.b > 0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn doses_as_laboratories_write_them() {
        for (text, number, unit) in [
            ("240 g/ha", 240.0, "g/ha"),
            ("5ppm", 5.0, "ppm"),
            ("12+2.5 g/ha", 14.5, "g/ha"),
            ("0,75 field rate", 0.75, "field rate"),
            ("0", 0.0, ""),
        ] {
            assert_eq!(number_and_unit(text), Some((number, unit.to_owned())), "{text}");
        }
        assert_eq!(amount("full rate"), None);
    }
}

//! What a random draw says of the whole field.

use geo::Coord;

use crate::model::MeanEstimate;
use crate::stops::kmeans::distance2;

/// The Horvitz-Thompson mean over `area` of a value per area found at drawn places.
///
/// `totals[i]`: the value at place i times the area that the place stands for, `chances[i]` its inclusion probability. The standard
/// error compares each place with its nearest neighbour, because a balanced draw takes one of each neighbourhood (Grafström and
/// Schelin 2014, Scand. J. Statist. 41:277-290): variance of the total = 1/2 sum of (y_i / pi_i - y_j / pi_j)^2 with j nearest to
/// i (the formula from memory; checked in the tests by drawing again and again). None without places.
pub fn horvitz_thompson(places: &[Coord<f64>], totals: &[f64], chances: &[f64], area: f64) -> Option<MeanEstimate> {
    if places.is_empty() || area.is_nan() || area <= 0.0 {
        return None;
    }
    let expanded: Vec<f64> = totals.iter().zip(chances).map(|(total, chance)| total / chance).collect();
    let difference2 = |index: usize| {
        let others = (0..places.len()).filter(|other| *other != index);
        let away = |other: &usize| distance2(places[*other], places[index]);
        let nearest = others.min_by(|a, b| away(a).total_cmp(&away(b)));
        nearest.map_or(0.0, |nearest| (expanded[index] - expanded[nearest]).powi(2))
    };
    let variance = 0.5 * (0..places.len()).map(difference2).sum::<f64>();
    Some(MeanEstimate { mean: expanded.iter().sum::<f64>() / area, standard_error: variance.sqrt() / area })
}

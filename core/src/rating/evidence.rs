//! What a reduction rests on, and so how sure it is.
//!
//! Reduction = 100 x (1 - treated / untreated), the form of Abbott 1925 (J. Econ. Entomol. 18:265-267): treated and untreated
//! are shares of plants alive or of seeds with shoots, or mean weights, of the same population.

use crate::model::{Measure, Raw};
use crate::rating::counts::{Share, ratio_bounds, wilson};
use crate::rating::distributions::{Z95, normal_below, normal_quantile, t_quantile};
use crate::rating::weights::{Mean, Ratio};

/// Reductions lie between these, %, wherever an interval has no end.
const ENDLESS: f64 = 1e9;

/// What a reduction rests on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Evidence {
    /// A reduction printed with its standard error, both in %.
    StandardError {
        /// Reduction, %.
        reduction: f64,
        /// Standard error, percentage points.
        se: f64,
    },
    /// A reduction printed with the number of plants or seeds.
    Number {
        /// Reduction, %.
        reduction: f64,
        /// Plants or seeds.
        n: f64,
    },
    /// Plants or seeds counted, treated and, if any, untreated.
    Counts {
        /// With the herbicide.
        treated: Share,
        /// Without.
        untreated: Option<Share>,
    },
    /// Pots weighed.
    Weights(Ratio),
}

impl Evidence {
    /// From counts or weights; an error says what is missing.
    pub fn from_raw(raw: &Raw, measure: Measure) -> Result<Self, String> {
        if raw.treated.is_empty() {
            return Err("there is no treated pot or dish".to_owned());
        }
        if measure == Measure::FreshWeight {
            let treated = Mean::of(&raw.treated).ok_or("a weight is no weight")?;
            let untreated = Mean::of(&raw.untreated).ok_or("there is no weight of untreated pots")?;
            return Ratio::of(treated, untreated)
                .map(Self::Weights)
                .ok_or_else(|| "the untreated pots weigh nothing".to_owned());
        }
        let treated = Share::of(&raw.treated).ok_or("a count is no count, or more than there were")?;
        let untreated = if raw.untreated.is_empty() {
            None
        } else {
            Some(Share::of(&raw.untreated).ok_or("an untreated count is no count, or more than there were")?)
        };
        match untreated {
            Some(untreated) if untreated.count <= 0.0 => Err("nothing lived in the untreated pots or dishes".to_owned()),
            None if measure == Measure::Shoots => {
                Err("without untreated dishes, seed that would not germinate counts as killed".to_owned())
            }
            untreated => Ok(Self::Counts { treated, untreated }),
        }
    }

    /// From a printed reduction with a standard error or a number; none without either.
    pub fn printed(reduction: f64, se: Option<f64>, n: Option<u32>) -> Option<Self> {
        match (se.filter(|se| *se > 0.0), n.filter(|n| *n > 0)) {
            (Some(se), _) => Some(Self::StandardError { reduction, se }),
            (None, Some(n)) => Some(Self::Number { reduction, n: f64::from(n) }),
            (None, None) => None,
        }
    }

    /// The reduction, %.
    pub fn reduction(&self) -> f64 {
        match self {
            Self::StandardError { reduction, .. } | Self::Number { reduction, .. } => *reduction,
            Self::Counts { treated, untreated } => {
                100.0 * (1.0 - treated.share() / untreated.as_ref().map_or(1.0, Share::share))
            }
            Self::Weights(ratio) => 100.0 * (1.0 - ratio.ratio()),
        }
    }

    /// The name of the interval's method.
    pub fn method(&self) -> &'static str {
        match self {
            Self::StandardError { .. } => "normal, from the standard error",
            Self::Number { .. } | Self::Counts { untreated: None, .. } => "Wilson, from the number",
            Self::Counts { .. } => "Wilson for treated and untreated, joined (MOVER-R)",
            Self::Weights(_) => "Fieller, from the spread of the pots",
        }
    }

    /// Whether an interval can be given: weights of single pots have none, nor has a reduction below 0 of which only the number of
    /// plants is known, because then the untreated plants matter, of which nothing is known.
    pub fn has_spread(&self) -> bool {
        match self {
            Self::Weights(ratio) => ratio.has_spread(),
            Self::Number { reduction, .. } => *reduction >= 0.0,
            Self::StandardError { .. } | Self::Counts { .. } => true,
        }
    }

    /// 95 % interval, %; none if it has no end on a side. No reduction is above 100 %, so that it ends there at the latest.
    pub fn interval(&self) -> Option<[f64; 2]> {
        let [low, high] = self.bounds(Z95);
        (self.has_spread() && low.abs() < ENDLESS && high.abs() < ENDLESS).then(|| [low.min(100.0), high.min(100.0)])
    }

    /// Both ends, `z` normal standard errors to each side (or the same share by t).
    fn bounds(&self, z: f64) -> [f64; 2] {
        match self {
            Self::StandardError { reduction, se } => [reduction - z * se, reduction + z * se],
            Self::Number { reduction, n } => wilson((reduction / 100.0).clamp(0.0, 1.0), *n, z).map(|share| 100.0 * share),
            Self::Counts { treated, untreated: None } => {
                let [low, high] = treated.bounds(z);
                [100.0 * (1.0 - high), 100.0 * (1.0 - low)]
            }
            Self::Counts { treated, untreated: Some(untreated) } => {
                let [low, high] = ratio_bounds(treated, untreated, z);
                [100.0 * (1.0 - high), 100.0 * (1.0 - low)].map(|end| end.clamp(-ENDLESS, ENDLESS))
            }
            Self::Weights(ratio) => ratio
                .bounds(normal_below(-z))
                .map_or([-ENDLESS, ENDLESS], |[low, high]| [100.0 * (1.0 - high), 100.0 * (1.0 - low)]),
        }
    }

    /// How likely the true reduction is to lie below a limit in %, 0 to 1: the confidence distribution of the interval.
    pub fn chance_below(&self, limit: f64) -> f64 {
        match self {
            Self::StandardError { reduction, se } => normal_below((limit - reduction) / se),
            Self::Number { reduction, n } => score_below((reduction / 100.0).clamp(0.0, 1.0), *n, limit / 100.0),
            Self::Counts { treated, untreated: None } => {
                score_below(1.0 - treated.share(), treated.effective(), limit / 100.0)
            }
            Self::Counts { .. } => self.chance_by_halving(limit),
            Self::Weights(ratio) => ratio.chance_above(1.0 - limit / 100.0),
        }
    }

    /// The `z` at which an end of the interval meets the limit, and from it the chance.
    fn chance_by_halving(&self, limit: f64) -> f64 {
        let above = limit >= self.reduction();
        let passed = |z: f64| {
            let [low, high] = self.bounds(z);
            if above { high >= limit } else { low <= limit }
        };
        let (mut near, mut far) = (0.0, 12.0);
        if !passed(far) {
            return f64::from(u8::from(above));
        }
        for _ in 0..60 {
            let middle = 0.5 * (near + far);
            if passed(middle) { far = middle } else { near = middle }
        }
        normal_below(if above { far } else { -far })
    }

    /// The reduction below which the true one lies with chance `p`, %.
    pub fn quantile(&self, p: f64) -> f64 {
        if let Self::Weights(ratio) = self {
            // By t directly; the normal detour would lose digits far out.
            let t = t_quantile(p.max(1.0 - p), ratio.df());
            let tail = 1.0 - crate::rating::distributions::t_below(t, ratio.df());
            let ends =
                ratio.bounds(tail).map_or([-ENDLESS, ENDLESS], |[low, high]| [100.0 * (1.0 - high), 100.0 * (1.0 - low)]);
            return if p < 0.5 { ends[0] } else { ends[1] };
        }
        let z = normal_quantile(p);
        let [low, high] = self.bounds(z.abs());
        if z < 0.0 { low } else { high }
    }
}

/// Chance that a share seen as `p` in `n` lies below `limit`, by the score test.
fn score_below(p: f64, n: f64, limit: f64) -> f64 {
    let at = limit.clamp(0.0, 1.0);
    let spread = (at * (1.0 - at) / n).sqrt();
    if spread > 0.0 { normal_below((at - p) / spread) } else { f64::from(u8::from(at > p)) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::Replicate;

    fn pots(counts: &[(f64, Option<f64>)]) -> Vec<Replicate> {
        counts.iter().map(|(value, of)| Replicate { value: *value, of: *of }).collect()
    }

    #[test]
    fn abbott_as_usually_shown() {
        // Abbott 1925: 82 % dead where 10 % die untreated is a corrected 80 %.
        let raw = Raw { treated: pots(&[(18.0, Some(100.0))]), untreated: pots(&[(90.0, Some(100.0))]) };
        for measure in [Measure::Survival, Measure::Shoots] {
            assert!((Evidence::from_raw(&raw, measure).unwrap().reduction() - 80.0).abs() < 1e-12);
        }
    }

    #[test]
    fn every_kind_has_quantiles_that_its_chances_give_back() {
        let weights = Raw {
            treated: pots(&[(2.1, None), (3.0, None), (2.6, None)]),
            untreated: pots(&[(8.9, None), (10.4, None), (9.6, None)]),
        };
        let counts = Raw {
            treated: pots(&[(2.0, Some(6.0)), (1.0, Some(6.0)), (3.0, Some(6.0))]),
            untreated: pots(&[(6.0, Some(6.0)), (5.0, Some(6.0)), (6.0, Some(6.0))]),
        };
        for evidence in [
            Evidence::StandardError { reduction: 71.0, se: 6.0 },
            Evidence::Number { reduction: 71.0, n: 30.0 },
            Evidence::from_raw(&counts, Measure::Survival).unwrap(),
            Evidence::from_raw(&weights, Measure::FreshWeight).unwrap(),
        ] {
            let [low, high] = evidence.interval().unwrap();
            assert!(low < evidence.reduction() && evidence.reduction() < high, "{evidence:?}");
            for p in [0.025, 0.2, 0.6, 0.975] {
                let back = evidence.chance_below(evidence.quantile(p));
                assert!((back - p).abs() < 1e-6, "{evidence:?} {p} {back}");
            }
            assert!((evidence.quantile(0.025) - low).abs() < 1e-6 && (evidence.quantile(0.975) - high).abs() < 1e-6);
        }
    }

    #[test]
    fn intervals_stay_where_reductions_can_be() {
        let sure = Evidence::StandardError { reduction: 97.0, se: 4.0 }.interval().unwrap();
        assert!((sure[0] - 89.160_1).abs() < 1e-3 && sure[1] == 100.0, "{sure:?}");
        assert_eq!(Evidence::Number { reduction: -12.0, n: 30.0 }.interval(), None, "its untreated plants are not known");
        let heavier = Evidence::StandardError { reduction: -12.0, se: 5.0 }.interval().unwrap();
        assert!(heavier[0] < -12.0 && heavier[1] > -12.0);
    }

    #[test]
    fn what_cannot_be_worked_out_says_why() {
        let no_untreated = Raw { treated: pots(&[(18.0, Some(50.0))]), untreated: vec![] };
        assert!(Evidence::from_raw(&no_untreated, Measure::Shoots).unwrap_err().contains("germinate"));
        assert!(Evidence::from_raw(&no_untreated, Measure::FreshWeight).unwrap_err().contains("untreated"));
        assert!((Evidence::from_raw(&no_untreated, Measure::Survival).unwrap().reduction() - 64.0).abs() < 1e-12);
        let dead = Raw { treated: pots(&[(0.0, Some(5.0))]), untreated: pots(&[(0.0, Some(5.0))]) };
        assert!(Evidence::from_raw(&dead, Measure::Survival).unwrap_err().contains("nothing lived"));
    }
}

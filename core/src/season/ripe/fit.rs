//! How seed sheds over the days of a year: logistic curves of one slope, shifted from field to field.
//!
//! The share shed in field i on day t is 1 / (1 + exp(-b (t - c - u_i))): b the slope a day, c the day on which half has shed in
//! the year's typical field, u_i the days by which field i is later. Shares are fitted by quasi-likelihood (McCullagh and Nelder
//! 1989, chapter 9: variance phi p (1 - p)), field shifts are normal with standard deviation tau and so drawn towards the year's
//! mean, the more the less a field was looked at. Slope and year have priors from the season window, so that one check is
//! enough to say something. tau is the one that makes the checks most likely, the shifts integrated out by Laplace's method;
//! phi follows from Pearson's residuals. Days are counted from the middle of each field's own window.
//!
//! `tests/tests/ripeness.rs` holds this to statsmodels and scipy.

/// A check: the field's number, days from the middle of its window, share shed 0 to 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Look {
    /// Number of the field, from 0 without gaps.
    pub field: usize,
    /// Days from the middle of the field's window.
    pub day: f64,
    /// Share shed, 0 to 1.
    pub shed: f64,
}

/// What is believed before anybody has looked.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prior {
    /// Slope a day, and the standard deviation of its logarithm; infinite: nothing is believed.
    pub slope: (f64, f64),
    /// Day on which half has shed, and its standard deviation.
    pub middle: (f64, f64),
    /// Standard deviation of fields within a year in days, and that of its logarithm; (x, 0): it is x.
    pub between: (f64, f64),
    /// Dispersion of checks, and how many checks that is worth; infinite: it is so.
    pub dispersion: (f64, f64),
}

/// A fitted year.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// Slope a day.
    pub slope: f64,
    /// Day on which half has shed in the typical field.
    pub middle: f64,
    /// By field: days later than that.
    pub shifts: Vec<f64>,
    /// Standard deviation of fields within the year, days.
    pub between: f64,
    /// Dispersion.
    pub dispersion: f64,
    /// Inverse of the information on (ln slope, middle), shifts eliminated.
    covariance: [[f64; 2]; 2],
    /// By field: information on its shift alone, and its links to (ln slope, middle).
    links: Vec<(f64, [f64; 2])>,
}

fn logit(share: f64) -> f64 {
    (share / (1.0 - share)).ln()
}

/// What all looks say at one place: objective, and what Newton's method needs.
struct Local {
    objective: f64,
    gradient: [f64; 2],
    shift_gradient: Vec<f64>,
    block: [[f64; 2]; 2],
    links: Vec<(f64, [f64; 2])>,
    pearson: f64,
}

/// Parameters: ln slope, middle, shifts.
#[derive(Clone)]
struct At {
    log_slope: f64,
    middle: f64,
    shifts: Vec<f64>,
}

fn local(looks: &[Look], prior: &Prior, between: f64, dispersion: f64, at: &At) -> Local {
    let slope = at.log_slope.exp();
    let of_normal = |value: f64, (mean, sd): (f64, f64)| (value - mean) / (sd * sd);
    let log_prior = (prior.slope.0.ln(), prior.slope.1);
    let (g0, g1) = (of_normal(at.log_slope, log_prior), of_normal(at.middle, prior.middle));
    let tightness = |sd: f64| 1.0 / (sd * sd);
    let mut out = Local {
        objective: 0.5 * (g0 * (at.log_slope - log_prior.0) + g1 * (at.middle - prior.middle.0)),
        gradient: [g0, g1],
        shift_gradient: at.shifts.iter().map(|shift| shift * tightness(between)).collect(),
        block: [[tightness(prior.slope.1), 0.0], [0.0, tightness(prior.middle.1)]],
        links: vec![(tightness(between), [0.0, 0.0]); at.shifts.len()],
        pearson: 0.0,
    };
    out.objective += at.shifts.iter().map(|shift| 0.5 * shift * shift * tightness(between)).sum::<f64>();
    for look in looks {
        let away = look.day - at.middle - at.shifts[look.field];
        let eta = (slope * away).clamp(-30.0, 30.0);
        let share = 1.0 / (1.0 + (-eta).exp());
        // ln(1 + e^eta), without loss for either sign.
        let softplus = if eta > 0.0 { eta + (-eta).exp().ln_1p() } else { eta.exp().ln_1p() };
        out.objective += (softplus - look.shed * eta) / dispersion;
        let (miss, spread) = ((share - look.shed) / dispersion, share * (1.0 - share) / dispersion);
        // Derivatives of eta by ln slope, by middle and by the field's shift.
        let (by_slope, by_day) = (slope * away, -slope);
        out.gradient[0] += miss * by_slope;
        out.gradient[1] += miss * by_day;
        out.shift_gradient[look.field] += miss * by_day;
        out.block[0][0] += spread * by_slope * by_slope;
        out.block[0][1] += spread * by_slope * by_day;
        out.block[1][1] += spread * by_day * by_day;
        let link = &mut out.links[look.field];
        link.0 += spread * by_day * by_day;
        link.1[0] += spread * by_slope * by_day;
        link.1[1] += spread * by_day * by_day;
        out.pearson += (share - look.shed).powi(2) / (share * (1.0 - share)).max(1e-9);
    }
    out.block[1][0] = out.block[0][1];
    out
}

/// Inverse of the information on (ln slope, middle) with the shifts eliminated.
fn eliminated(local: &Local) -> [[f64; 2]; 2] {
    let mut s = local.block;
    for (own, link) in &local.links {
        for (a, row) in s.iter_mut().enumerate() {
            for (b, cell) in row.iter_mut().enumerate() {
                *cell -= link[a] * link[b] / own;
            }
        }
    }
    // A trace of stiffness keeps the inverse finite where nothing at all is known of a direction.
    let (a, b, d) = (s[0][0] + 1e-12, s[0][1], s[1][1] + 1e-12);
    let det = (a * d - b * b).max(1e-300);
    [[d / det, -b / det], [-b / det, a / det]]
}

/// The parameters at which the penalised quasi-likelihood is greatest, for given dispersions, by Fisher scoring.
fn settle(looks: &[Look], prior: &Prior, between: f64, dispersion: f64, start: &At) -> (At, Local) {
    let mut at = start.clone();
    let mut here = local(looks, prior, between, dispersion, &at);
    for _ in 0..200 {
        let inverse = eliminated(&here);
        let mut right = here.gradient;
        for ((own, link), gradient) in here.links.iter().zip(&here.shift_gradient) {
            right[0] -= link[0] * gradient / own;
            right[1] -= link[1] * gradient / own;
        }
        let step =
            [inverse[0][0] * right[0] + inverse[0][1] * right[1], inverse[1][0] * right[0] + inverse[1][1] * right[1]];
        let shift_steps: Vec<f64> = here
            .links
            .iter()
            .zip(&here.shift_gradient)
            .map(|((own, link), gradient)| (gradient - link[0] * step[0] - link[1] * step[1]) / own)
            .collect();
        let mut part = 1.0;
        let moved = loop {
            let next = At {
                log_slope: at.log_slope - part * step[0].clamp(-1.0, 1.0),
                middle: at.middle - part * step[1],
                shifts: at.shifts.iter().zip(&shift_steps).map(|(shift, step)| shift - part * step).collect(),
            };
            let there = local(looks, prior, between, dispersion, &next);
            if there.objective <= here.objective {
                let gain = here.objective - there.objective;
                (at, here) = (next, there);
                break gain > 1e-13 * (1.0 + here.objective.abs());
            }
            part *= 0.5;
            if part < 1e-9 {
                break false;
            }
        };
        if !moved {
            break;
        }
    }
    (at, here)
}

/// Logarithm of the likelihood of `between`, shifts integrated out by Laplace's method, with its prior.
fn likelihood(here: &Local, between: f64, prior: &Prior) -> f64 {
    let spread: f64 = here.links.iter().map(|(own, _)| 0.5 * (own * between * between).ln()).sum();
    let believed = (between / prior.between.0).ln() / prior.between.1;
    -here.objective - spread - 0.5 * believed * believed
}

/// Bounds in which the standard deviation between fields is looked for, days.
const BETWEEN: [f64; 2] = [0.25, 15.0];

fn best_between(looks: &[Look], prior: &Prior, dispersion: f64, start: &At) -> f64 {
    if prior.between.1 <= 0.0 {
        return prior.between.0;
    }
    // Golden section on the logarithm.
    let ratio = (5.0_f64.sqrt() - 1.0) / 2.0;
    let value = |log: f64| {
        let between = log.exp();
        likelihood(&settle(looks, prior, between, dispersion, start).1, between, prior)
    };
    let [mut low, mut high] = BETWEEN.map(f64::ln);
    let (mut a, mut b) = (high - ratio * (high - low), low + ratio * (high - low));
    let (mut at_a, mut at_b) = (value(a), value(b));
    while high - low > 1e-4 {
        if at_a > at_b {
            (high, b, at_b) = (b, a, at_a);
            a = high - ratio * (high - low);
            at_a = value(a);
        } else {
            (low, a, at_a) = (a, b, at_b);
            b = low + ratio * (high - low);
            at_b = value(b);
        }
    }
    f64::midpoint(low, high).exp()
}

/// Fits the checks of a year over so many fields.
pub fn fit(looks: &[Look], fields: usize, prior: &Prior) -> Fit {
    let mut at = At { log_slope: prior.slope.0.ln(), middle: prior.middle.0, shifts: vec![0.0; fields] };
    let (mut between, mut dispersion) = (prior.between.0, prior.dispersion.0);
    // Each follows from the others; a few rounds settle them far below what eyes can tell.
    for _ in 0..6 {
        between = best_between(looks, prior, dispersion, &at);
        let here;
        (at, here) = settle(looks, prior, between, dispersion, &at);
        if prior.dispersion.1.is_finite() {
            let used: f64 = here.links.iter().map(|(own, _)| 1.0 - 1.0 / (own * between * between)).sum();
            let free = (looks.len() as f64 - 2.0 - used).max(0.0);
            let worth = prior.dispersion.1;
            let held = if free > 0.0 { here.pearson } else { 0.0 };
            // Nobody's eye is better than the prior says, whatever a few checks that happen to agree would have it.
            dispersion = ((worth * prior.dispersion.0 + held) / (worth + free)).clamp(prior.dispersion.0, 1.0);
        }
    }
    let here;
    (at, here) = settle(looks, prior, between, dispersion, &at);
    Fit {
        slope: at.log_slope.exp(),
        middle: at.middle,
        covariance: eliminated(&here),
        shifts: at.shifts,
        between,
        dispersion,
        links: here.links,
    }
}

/// Half the width of an interval that holds the day nine times in ten, in standard errors: more than the 1.645 of a normal
/// deviate, because spread, dispersion and slope are known from few checks only. Found by simulation, which
/// `tests/tests/ripeness.rs` repeats.
pub const NINE_IN_TEN: f64 = 1.95;

impl Fit {
    /// The day on which a share has shed, from the middle of the window, and its standard error; for field `None` that of a
    /// field where nobody has looked.
    pub fn day(&self, share: f64, field: Option<usize>) -> (f64, f64) {
        let by_slope = -logit(share) / self.slope;
        let mut gradient = [by_slope, 1.0];
        let mut own_variance = self.between * self.between;
        let mut day = self.middle + logit(share) / self.slope;
        if let Some((own, link)) = field.and_then(|field| self.links.get(field)) {
            // The shift moves against (ln slope, middle) as its links say, and by itself.
            gradient[0] -= link[0] / own;
            gradient[1] -= link[1] / own;
            own_variance = 1.0 / own;
            day += field.and_then(|field| self.shifts.get(field)).copied().unwrap_or(0.0);
        }
        let c = &self.covariance;
        let variance = gradient[0] * (c[0][0] * gradient[0] + c[0][1] * gradient[1])
            + gradient[1] * (c[1][0] * gradient[0] + c[1][1] * gradient[1])
            + own_variance;
        (day, variance.max(0.0).sqrt())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const PRIOR: Prior = Prior { slope: (0.112, 0.3), middle: (16.0, 7.0), between: (3.0, 0.5), dispersion: (0.02, 5.0) };

    #[test]
    fn without_a_check_the_prior_stands() {
        let fit = fit(&[], 0, &PRIOR);
        assert!((fit.slope - 0.112).abs() < 1e-9 && (fit.middle - 16.0).abs() < 1e-9);
        let (day, error) = fit.day(0.5, None);
        // Year and field vary independently: 7 and 3 days.
        assert!((day - 16.0).abs() < 1e-9 && (error - 58.0_f64.sqrt()).abs() < 1e-3, "{day} {error}");
    }

    #[test]
    fn a_field_is_drawn_towards_the_year_the_less_the_more_it_was_looked_at() {
        let share = |day: f64, middle: f64| 1.0 / (1.0 + (-0.112 * (day - middle)).exp());
        let others = (1..8).flat_map(|field| [-6.0, 0.0].map(|day| Look { field, day, shed: share(day, 16.0) }));
        let looked = |times: usize| {
            let own = (0..times).map(|n| Look { field: 0, day: -4.0 + n as f64, shed: share(-4.0 + n as f64, 8.0) });
            let looks: Vec<Look> = own.chain(others.clone()).collect();
            let fitted = fit(&looks, 8, &PRIOR);
            (fitted.shifts[0], fitted.day(0.1, Some(0)).1)
        };
        let ((once, wide), (often, narrow)) = (looked(1), looked(8));
        assert!(-8.0 < often && often < once && once < 0.0, "{once} {often}");
        assert!(narrow < wide, "{narrow} {wide}");
    }
}

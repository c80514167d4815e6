//! Draws of the coming years, and one draw run through a field.

use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;

use crate::act::outlook::parameters::{COUNT, Key, Parameters, Values, table};
use crate::act::outlook::quantiles::drawn;
use crate::act::outlook::scenario::Ready;
use crate::act::outlook::seedbank::{Bank, bank_after, heads_of, plants_of, year};
use crate::act::outlook::start::Start;
use crate::act::outlook::yield_loss::{by_heads, hyperbola};
use crate::model::{DensityUnit, OutlookSettings};

/// A number that follows from a name (FNV-1a, 64 bits).
fn of_name(name: &str) -> u64 {
    name.bytes().fold(0xcbf2_9ce4_8422_2325, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3))
}

/// One draw of everything.
#[derive(Debug, Clone)]
pub(super) struct Draw {
    /// At the start, and what holds for the field in all years.
    pub start: Values,
    /// Year by year.
    pub years: Vec<DrawnYear>,
}

#[derive(Debug, Clone, Copy)]
pub(super) struct DrawnYear {
    /// Values of the parameters.
    pub values: Values,
    /// Where in its range the control lies, 0 to 1.
    pub control: f64,
    /// The same for heads taken out.
    pub removed: f64,
}

impl Draw {
    /// Everything at its likely value.
    pub fn likely(parameters: &Parameters, years: usize) -> Self {
        let start = parameters.likely();
        Self { start, years: vec![DrawnYear { values: start, control: 0.5, removed: 0.5 }; years] }
    }

    /// As many as are set, for a field of a name.
    pub fn many(parameters: &Parameters, years: usize, settings: &OutlookSettings, name: &str) -> Vec<Self> {
        let mut every_year = [false; COUNT];
        for row in table() {
            every_year[row.key as usize] = row.every_year;
        }
        let seed = settings.seed ^ of_name(name);
        (0..settings.draws as u64).map(|number| Self::numbered(parameters, &every_year, years, seed, number)).collect()
    }

    fn numbered(parameters: &Parameters, every_year: &[bool; COUNT], years: usize, seed: u64, number: u64) -> Self {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        random.set_stream(number);
        let mut all = |held: Option<&Values>| {
            Values(std::array::from_fn(|index| {
                let u: f64 = random.random();
                match held {
                    Some(held) if !every_year[index] => held.0[index],
                    _ => drawn(parameters.range(Key::ALL[index]), u),
                }
            }))
        };
        let start = all(None);
        let values: Vec<Values> = (0..years).map(|_| all(Some(&start))).collect();
        let years =
            values.into_iter().map(|values| DrawnYear { values, control: random.random(), removed: random.random() });
        Self { start, years: years.collect() }
    }

    /// Heads/m2 of a part at the start.
    pub fn heads(&self, unit: DensityUnit, density: f64) -> f64 {
        match unit {
            DensityUnit::HeadsPerM2 => density,
            _ => heads_of(density, self.start.of(Key::HeadsAPlant), self.start.of(Key::GreatestHeads)),
        }
    }
}

/// Means of the field in one year.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Means {
    /// Heads/m2 left standing.
    pub heads: f64,
    /// Plants/m2 after control.
    pub plants: f64,
    /// Seeds/m2 in the soil.
    pub seeds: f64,
    /// Plants/m2 in the crop before control.
    pub in_crop: f64,
    /// Of those, what must go so that there are no more heads than the year before.
    pub to_kill: f64,
    /// Yield lost, %, by plants.
    pub loss: f64,
    /// Yield lost, %, by heads.
    pub loss_by_heads: f64,
    /// Yield given up by drilling late, %.
    pub late: f64,
}

impl Means {
    /// Adds the means of a part of the field.
    pub fn add(&mut self, share: f64, part: &Self) {
        self.heads += share * part.heads;
        self.plants += share * part.plants;
        self.seeds += share * part.seeds;
        self.in_crop += share * part.in_crop;
        self.to_kill += share * part.to_kill;
        self.loss += share * part.loss;
        self.loss_by_heads += share * part.loss_by_heads;
        self.late += share * part.late;
    }
}

/// Runs one draw of a scenario through a field; `control`: the same share in every crop, instead of the scenario's own. Each year's
/// means go to `seen` with its index; returns the seeds/m2 in the soil at the start and at the end.
pub(super) fn run(
    draw: &Draw,
    ready: &Ready,
    start: &Start,
    control: Option<f64>,
    mut seen: impl FnMut(usize, f64, &Means),
) -> (f64, f64) {
    let (mut at_start, mut at_end) = (0.0, 0.0);
    for part in &start.parts {
        let mut heads_before = draw.heads(start.unit, part.density);
        let first = ready.year(0).rates(&draw.start, 0.0, 0.0);
        let mut bank: Bank =
            bank_after(heads_before, &first, draw.start.of(Key::FreshShare), draw.start.of(Key::BuriedAtStart));
        at_start += part.share * bank.seeds();
        for (index, drawn_year) in draw.years.iter().enumerate() {
            let given = ready.year(index);
            let removed = given.given.heads_removed.map_or(0.0, |range| drawn(range, drawn_year.removed) / 100.0);
            let kept = control.unwrap_or_else(|| drawn(given.given.control, drawn_year.control) / 100.0);
            let values = &drawn_year.values;
            let rates = given.rates(values, kept, removed);
            let came = year(bank, &rates);
            let heads = came.heads * (1.0 - removed);
            let standing = (1.0 - rates.crowded) * (1.0 - removed);
            let may_stand = if standing > 0.0 {
                plants_of(heads_before / standing, rates.heads_a_plant, rates.greatest_heads)
            } else {
                f64::INFINITY
            };
            let sold = given.is_sold();
            let most = values.of(Key::GreatestLoss);
            let means = Means {
                heads,
                plants: came.plants,
                seeds: came.next.seeds(),
                in_crop: came.in_crop,
                to_kill: (came.in_crop - may_stand).max(0.0),
                loss: if sold { hyperbola(came.plants, values.of(Key::LossAPlant), most) } else { 0.0 },
                loss_by_heads: if sold { by_heads(came.heads, values.of(Key::LossAHead), most) } else { 0.0 },
                late: given.late_yield.map_or(0.0, |key| values.of(key)),
            };
            seen(index, part.share, &means);
            heads_before = heads;
            bank = came.next;
        }
        at_end += part.share * bank.seeds();
    }
    (at_start, at_end)
}

/// The least control, the same in every crop, at which the seedbank does not grow from start to end, as a share.
pub(super) fn holding(draw: &Draw, ready: &Ready, start: &Start) -> f64 {
    let grows = |control: f64| {
        let (before, after) = run(draw, ready, start, Some(control), |_, _, _| {});
        after > before
    };
    if !grows(0.0) {
        return 0.0;
    }
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..16 {
        let middle = f64::midpoint(low, high);
        if grows(middle) { low = middle } else { high = middle }
    }
    f64::midpoint(low, high)
}

/// The likely run: every parameter, control and share at its likely value. Heads, plants and seeds a m2 by year.
pub fn likely_run(field: &Start, ready: &Ready, parameters: &Parameters, years: usize) -> Vec<[f64; 3]> {
    let mut sums = vec![Means::default(); years];
    run(&Draw::likely(parameters, years), ready, field, None, |index, share, part| sums[index].add(share, part));
    sums.iter().map(|sum| [sum.heads, sum.plants, sum.seeds]).collect()
}

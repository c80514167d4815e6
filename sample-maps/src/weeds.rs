//! The weed in every field: where its patches lie, how dense they are, and what it resists. A made-up story that follows
//! common experience: resistance grows over the years and is worst where the weed is dense.

use geo::{Contains as _, Coord, Point};

use crate::dice::Dice;
use crate::fields::{Estate, Land};
use crate::shape::{self, at, distance_to_edge, dot, extent, left_of, towards};

/// A patch: a hill of density, longer along the tramlines.
pub struct Hill {
    middle: Coord<f64>,
    along: Coord<f64>,
    long_m: f64,
    short_m: f64,
    heads_per_m2: f64,
}

/// The weed in one field.
pub struct Weed {
    /// Patches; none: a clean field.
    pub hills: Vec<Hill>,
    /// How bad it is, 0 to 1.
    pub level: f64,
    metabolism: (f64, f64),
    accase: (f64, f64),
    als: (f64, f64),
}

impl Weed {
    /// Heads per m2 at a place, on average, in June of a year.
    pub fn heads_per_m2(&self, p: Coord<f64>, year: i32) -> f64 {
        let grown = libm::pow(1.35, f64::from(year - 2026));
        let hill = |hill: &Hill| {
            let (u, v) = (dot(p - hill.middle, hill.along), dot(p - hill.middle, left_of(hill.along)));
            hill.heads_per_m2 * libm::exp(-0.5 * (libm::pow(u / hill.long_m, 2.0) + libm::pow(v / hill.short_m, 2.0)))
        };
        grown * self.hills.iter().map(hill).sum::<f64>()
    }

    /// What a herbicide still does in a year, as a share of what it does to susceptible plants, without chance.
    ///
    /// Enhanced metabolism weakens many modes of action in part, target-site resistance one group strongly (Moss 2017,
    /// Outlooks on Pest Management 28:164-168, from memory); the numbers are ours.
    pub fn control_left(&self, active: &str, year: i32) -> f64 {
        let by = |(start, rate): (f64, f64)| (start + rate * f64::from(year - 2019)).clamp(0.0, 0.97);
        let (metabolism, accase, als) = (by(self.metabolism), by(self.accase), by(self.als));
        match active {
            "pendimethalin" => 1.0 - 0.62 * metabolism,
            "fenoxaprop" => (1.0 - 0.8 * metabolism) * (1.0 - accase),
            "cycloxydim" => 1.0 - 0.95 * accase,
            "mesosulfuron+iodosulfuron" => (1.0 - 0.55 * metabolism) * (1.0 - als),
            _ => 1.0 - 0.16 * metabolism,
        }
    }
}

/// The weed of every field, in the order of the fields. The halves of the split field share their resistance.
pub fn grow(estate: &Estate) -> Vec<Weed> {
    let mut weeds: Vec<Weed> = estate.lands.iter().enumerate().map(|(number, land)| weed(number as u64, land)).collect();
    let halves: Vec<usize> =
        crate::names::SPLIT.iter().filter_map(|half| estate.lands.iter().position(|land| land.name == *half)).collect();
    if let [one, other] = halves[..] {
        (weeds[other].metabolism, weeds[other].accase, weeds[other].als) =
            (weeds[one].metabolism, weeds[one].accase, weeds[one].als);
    }
    weeds
}

fn weed(number: u64, land: &Land) -> Weed {
    let mut dice = Dice::new(500 + number);
    let clean = dice.chance(0.16);
    let level = if clean { 0.0 } else { 0.15 + 0.85 * dice.unit() };
    let hills = if clean { 0 } else { 1 + (level * 2.6) as usize };
    let grow = |strength: f64, dice: &mut Dice| {
        (level * strength * dice.between(0.2, 0.8), level * strength * dice.between(0.03, 0.12))
    };
    let metabolism = grow(0.8, &mut dice);
    let accase = if dice.chance(0.45) { grow(1.0, &mut dice) } else { (0.0, 0.004) };
    let als = if dice.chance(0.55) { grow(0.9, &mut dice) } else { (0.0, 0.006) };
    let hills = (0..hills).map(|_| hill(land, level, &mut dice)).collect();
    Weed { hills, level, metabolism, accase, als }
}

fn hill(land: &Land, level: f64, dice: &mut Dice) -> Hill {
    let ring = &land.piece.ring;
    let (east, north) = (extent(ring, at(1.0, 0.0)), extent(ring, at(0.0, 1.0)));
    let inside =
        |p: &Coord<f64>| shape::polygon(ring, &land.piece.holes).contains(&Point(*p)) && distance_to_edge(ring, *p) > 25.0;
    let places: Vec<_> = (0..200).map(|_| at(dice.between(east.0, east.1), dice.between(north.0, north.1))).collect();
    let near_gate = dice.chance(0.3);
    let from_gate = |p: &Coord<f64>| land.gates.first().map_or(0.0, |gate| shape::norm(*p - *gate));
    let mut inside = places.into_iter().filter(inside);
    let middle = if near_gate { inside.min_by(|a, b| from_gate(a).total_cmp(&from_gate(b))) } else { inside.next() };
    Hill {
        middle: middle.unwrap_or(ring[0]),
        along: towards(90.0 - land.bearing + dice.between(-6.0, 6.0)),
        long_m: dice.between(50.0, 140.0),
        short_m: dice.between(16.0, 42.0),
        heads_per_m2: libm::exp(dice.between(1.6, 2.8) + 2.4 * level),
    }
}

//! One year of a two-layer seedbank, per m2, from early autumn to early autumn.
//!
//! ```text
//! seed in the soil in September: top 5 cm, and below
//!   cultivation moves shares between the layers
//!   a share of the top comes up; some of it before the crop is drilled, where it is destroyed
//!   the programme controls plants in the crop; the rest carry heads, fewer the denser they stand
//!   heads taken out in time return nothing; the others shed
//!   shed seed: viable, alive until late September: on top
//!   of the seed in the soil a share is gone a year later, what came up included
//! ```
//!
//! The chain and its figures: HGCA Project Report 466, p. 86, as quoted on a national institute's page: 100 seeds a head x 0.55 viable
//! x 0.45 alive in late September x 0.60 within 5 cm x 0.15 established = 2.2275 plants a head. Layers and movement as in an
//! open rotation model. Density dependence is an assumption: heads = h P / (1 + h P / greatest), with h heads on a lone plant.

/// Viable seeds a m2 in early autumn, after the seed rain and before cultivation.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Bank {
    /// On the surface and in the top 5 cm.
    pub top: f64,
    /// Below 5 cm.
    pub deep: f64,
}

impl Bank {
    /// All seeds.
    pub fn seeds(self) -> f64 {
        self.top + self.deep
    }
}

/// What holds in one field in one year. Shares from 0 to 1 unless said otherwise.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rates {
    /// Seed of the top layer that cultivation takes below.
    pub buries: f64,
    /// Seed below that it brings up.
    pub brings_up: f64,
    /// Seed of the top layer that comes up.
    pub emerge: f64,
    /// Of what comes up, the share that does so before drilling and is destroyed; below 0 where more comes up.
    pub before_drilling: f64,
    /// Of what comes up in the crop, the share that the programme controls.
    pub control: f64,
    /// Heads on a plant that stands alone.
    pub heads_a_plant: f64,
    /// Heads a m2 that a full stand carries.
    pub greatest_heads: f64,
    /// Heads that the crop prevents.
    pub crowded: f64,
    /// Heads taken out before they shed.
    pub heads_removed: f64,
    /// Seeds on a head.
    pub seeds_a_head: f64,
    /// Seed that reaches the ground.
    pub returned: f64,
    /// Fresh seed that is viable.
    pub viable: f64,
    /// Viable fresh seed alive in late September.
    pub survive: f64,
    /// Seed in the soil that is gone after a year, what came up included.
    pub decline: f64,
}

/// What came of a year, per m2.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Year {
    /// Seeds in the top layer after cultivation.
    pub top: f64,
    /// Seeds below after cultivation.
    pub deep: f64,
    /// Seeds that came up.
    pub emerged: f64,
    /// Plants that stood in the crop before control.
    pub in_crop: f64,
    /// Plants left after control.
    pub plants: f64,
    /// Heads in June, before any were taken out.
    pub heads: f64,
    /// Seeds on the heads that were left standing.
    pub set: f64,
    /// Of those, seeds that never reached the soil alive: carried off, not viable, or dead by late September.
    pub lost: f64,
    /// Seeds that died in the soil.
    pub died: f64,
    /// What lies in the soil in the next early autumn.
    pub next: Bank,
}

/// Fresh seed alive in late September, for seeds set.
fn alive(set: f64, rates: &Rates) -> f64 {
    set * rates.returned * rates.viable * rates.survive
}

/// Heads a m2 of `plants` a m2.
///
/// ```
/// use awn_core::act::outlook::seedbank::heads_of;
/// assert_eq!(heads_of(1e-9, 10.0, 700.0).to_bits(), (1e-8 / (1.0 + 1e-8 / 700.0_f64)).to_bits());
/// assert!(heads_of(1e9, 10.0, 700.0) < 700.0);
/// ```
pub fn heads_of(plants: f64, heads_a_plant: f64, greatest: f64) -> f64 {
    let open = heads_a_plant * plants;
    open / (1.0 + open / greatest)
}

/// Plants a m2 that carry `heads` a m2, the inverse of [`heads_of`]; heads above 80 % of the greatest count as 80 %, because beyond
/// it the inverse runs away.
pub fn plants_of(heads: f64, heads_a_plant: f64, greatest: f64) -> f64 {
    let heads = heads.min(0.8 * greatest);
    heads / (heads_a_plant * (1.0 - heads / greatest))
}

/// The seed in the soil in the autumn after `heads` a m2 have shed: fresh seed on top, older seed beside and below it.
///
/// `fresh_share` is the share of the next plants that come from fresh seed in soil that is not inverted, `buried` the seed below
/// 5 cm for each seed on top.
pub fn bank_after(heads: f64, rates: &Rates, fresh_share: f64, buried: f64) -> Bank {
    let top = alive(heads * rates.seeds_a_head, rates) / fresh_share;
    Bank { top, deep: buried * top }
}

/// One year.
pub fn year(bank: Bank, rates: &Rates) -> Year {
    let top = bank.top * (1.0 - rates.buries) + bank.deep * rates.brings_up;
    let deep = bank.deep * (1.0 - rates.brings_up) + bank.top * rates.buries;
    // More than all cannot come up, however early the crop is drilled.
    let emerged = (rates.emerge * top).min(top);
    let in_crop = (emerged * (1.0 - rates.before_drilling)).min(top);
    let emerged = emerged.max(in_crop);
    let plants = in_crop * (1.0 - rates.control);
    let heads = heads_of(plants, rates.heads_a_plant, rates.greatest_heads) * (1.0 - rates.crowded);
    let set = heads * (1.0 - rates.heads_removed) * rates.seeds_a_head;
    let fresh = alive(set, rates);
    let old_top = (top * (1.0 - rates.decline)).min(top - emerged);
    let old_deep = deep * (1.0 - rates.decline);
    Year {
        top,
        deep,
        emerged,
        in_crop,
        plants,
        heads,
        set,
        lost: set - fresh,
        died: top - emerged - old_top + deep - old_deep,
        next: Bank { top: old_top + fresh, deep: old_deep },
    }
}

/// Growth to control that holds a population where it is: 1 - 1 / growth; 0 where it falls by itself.
///
/// ```
/// use awn_core::act::outlook::seedbank::control_to_stand_still;
/// let at = [5.0, 10.0, 20.0].map(control_to_stand_still);
/// assert_eq!(at, [0.8, 0.9, 0.95]);
/// ```
pub fn control_to_stand_still(growth: f64) -> f64 {
    if growth > 1.0 { 1.0 - 1.0 / growth } else { 0.0 }
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    /// The published chain, with ten heads on a plant.
    pub const CHAIN: Rates = Rates {
        buries: 0.4,
        brings_up: 0.0,
        emerge: 0.15,
        before_drilling: 0.0,
        control: 0.0,
        heads_a_plant: 10.0,
        greatest_heads: 1e12,
        crowded: 0.0,
        heads_removed: 0.0,
        seeds_a_head: 100.0,
        returned: 1.0,
        viable: 0.55,
        survive: 0.45,
        decline: 0.70,
    };

    #[test]
    fn the_published_chain_gives_its_plants_a_head() {
        // HGCA Project Report 466, p. 86: 100 x 0.55 x 0.45 x 0.60 x 0.15.
        let plants = year(bank_after(1.0, &CHAIN, 1.0, 0.0), &CHAIN).plants;
        assert!((plants - 2.2275).abs() < 1e-12, "{plants}");
    }

    #[test]
    fn seed_in_the_soil_falls_as_published() {
        // 70 % a year leaves 30, 9, 2.7, 0.81 of 100; 75 % leaves 25, 6.25, 1.5625, 0.390625 (extension tables; the powers).
        for (decline, left) in [(0.70, [30.0, 9.0, 2.7, 0.81]), (0.75, [25.0, 6.25, 1.5625, 0.390_625])] {
            let rates = Rates { decline, control: 1.0, buries: 0.0, ..CHAIN };
            let mut bank = Bank { top: 60.0, deep: 40.0 };
            for expected in left {
                bank = year(bank, &rates).next;
                assert!((bank.seeds() - expected).abs() < 1e-9, "{bank:?} {expected}");
            }
        }
    }

    #[test]
    fn control_that_stands_still() {
        for (growth, percent) in [(5.0, 80.0), (10.0, 90.0), (20.0, 95.0), (30.0, 96.7), (33.3, 97.0)] {
            assert!((100.0 * control_to_stand_still(growth) - percent).abs() < 0.05, "{growth}");
        }
        assert_eq!(control_to_stand_still(0.4), 0.0);
    }

    #[test]
    fn heads_and_plants_are_each_other_s_inverse() {
        for plants in [0.0, 0.01, 1.0, 12.0, 80.0] {
            assert!((plants_of(heads_of(plants, 10.0, 700.0), 10.0, 700.0) - plants).abs() < 1e-9);
        }
        assert!(plants_of(1e6, 10.0, 700.0).is_finite());
    }
}

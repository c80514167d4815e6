//! One sample for the field, or one for each group of patches.
//!
//! Variation within an average patch is negligible, between patches of one field there is more (leaflet of the national herbicide
//! resistance group, June 2020). Patches of one farm held 96, 2.9, 4.4 and 25 % resistant plants, two of them in one field (Cavan,
//! Biss and Moss 1998, Weed Research 38:239-245). Pollen and seed carry genes over metres to tens of metres; how far apart patches
//! must lie to be judged apart is the user's setting (50 m unless set: our choice, no source).

use crate::model::{Patch, PlanSettings, SampleUnits};
use crate::units::count;

/// A group with less of the population than this is not worth a test of its own (our choice, no source).
const WORTH_A_TEST: f64 = 0.1;

/// Shares of the field's population in each group of patches, group 1 first.
fn group_shares(patches: &[Patch]) -> Vec<f64> {
    let groups = patches.iter().map(|patch| patch.group).max().unwrap_or(0);
    let share = |group| patches.iter().filter(|patch| patch.group == group).map(|patch| patch.population_share).sum();
    (1..=groups).map(share).collect()
}

/// What to do and why, in words.
pub(super) fn advice(patches: &[Patch], settings: &PlanSettings) -> String {
    let shares = group_shares(patches);
    let large: Vec<f64> = shares.iter().copied().filter(|share| *share >= WORTH_A_TEST).collect();
    let percent = |share: f64| format!("{:.0} %", 100.0 * share);
    let gap = settings.group_gap_m;
    let chosen = match settings.units {
        SampleUnits::Composite => "The plan takes one sample.",
        SampleUnits::PatchGroups => "The plan takes a sample for each group.",
    };
    match (shares.len(), large.len()) {
        (0, _) => "One sample for the field: no patches stand out.".to_owned(),
        (1, _) if patches.len() == 1 => {
            "One sample for the field: it has one patch, and within a patch plants vary little.".to_owned()
        }
        (1, _) => format!(
            "One sample for the field: its {} lie nearer than {gap:.0} m to each other, and within a patch plants vary little.",
            count(patches.len(), "patch").replace("patchs", "patches")
        ),
        (_, 0 | 1) => format!(
            "One sample for the field: the largest group of patches holds {} of the population, no other as much as {}. {chosen}",
            percent(shares.iter().copied().fold(0.0, f64::max)),
            percent(WORTH_A_TEST)
        ),
        (_, several) => format!(
            "A sample for each of {several} groups of patches, {} of the population: they lie {gap:.0} m or more apart, and \
             patches of one field can differ widely in resistance (2.9 and 96 % resistant plants on one farm: Cavan, Biss and \
             Moss 1998). One sample of the field would show a mean of them. {chosen}",
            large.iter().map(|share| percent(*share)).collect::<Vec<_>>().join(" and ")
        ),
    }
}

/// The sample that each stop goes into, counted from 1: the group of the patch it lies in, or of the one given as nearest.
pub(super) fn units(groups: &[Option<usize>], settings: &PlanSettings) -> Vec<usize> {
    if settings.units == SampleUnits::Composite {
        return vec![1; groups.len()];
    }
    // Groups without a stop have no sample; the others are counted in order.
    let mut used: Vec<usize> = groups.iter().flatten().copied().collect();
    used.sort_unstable();
    used.dedup();
    groups.iter().map(|group| group.and_then(|group| used.binary_search(&group).ok()).map_or(1, |index| index + 1)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::MultiPolygon;

    fn patch(group: usize, population_share: f64) -> Patch {
        Patch {
            outline: MultiPolygon(Vec::new()),
            area_m2: 1000.0,
            mean_density: 5.0,
            population_share,
            greatest_density: 9.0,
            group,
        }
    }

    #[test]
    fn groups_that_hold_much_of_the_population_are_worth_a_sample_each() {
        let settings = PlanSettings::default();
        let said = |patches: &[Patch]| advice(patches, &settings);
        assert!(said(&[]).starts_with("One sample"));
        assert!(said(&[patch(1, 0.5), patch(1, 0.3)]).contains("2 patches lie nearer"));
        assert!(said(&[patch(1, 0.8), patch(2, 0.05)]).contains("holds 80 %"));
        assert!(said(&[patch(1, 0.5), patch(2, 0.3), patch(3, 0.02)]).starts_with("A sample for each of 2 groups"));
    }

    #[test]
    fn samples_are_counted_over_groups_with_a_stop() {
        let by_patch = PlanSettings { units: SampleUnits::PatchGroups, ..PlanSettings::default() };
        assert_eq!(units(&[Some(3), Some(1), None, Some(3)], &by_patch), [2, 1, 1, 2]);
        assert_eq!(units(&[Some(3), Some(1)], &PlanSettings::default()), [1, 1]);
    }
}

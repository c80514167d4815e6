//! Crops that an outlook knows: when they are sown. Source: `assets/tables/crops.csv` (common practice, no source).

use std::sync::OnceLock;

use crate::model::same_name;

/// When a crop is sown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sown {
    /// In autumn, among the weed's main flush.
    Autumn,
    /// In spring, after most of the weed has come up and was destroyed.
    Spring,
    /// Not at all: fallow, or a ley that is cut.
    None,
}

/// A day of the crop year, counted from 1 July, which is 0.
pub type CropDay = i32;

/// A crop.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KnownCrop {
    /// Name.
    pub name: &'static str,
    /// When it is sown.
    pub sown: Sown,
    /// First and last day on which that is possible; none where nothing is sown.
    pub days: Option<(CropDay, CropDay)>,
}

/// The table of crops.
pub fn crops() -> &'static [KnownCrop] {
    static TABLE: OnceLock<Vec<KnownCrop>> = OnceLock::new();
    TABLE.get_or_init(|| {
        include_str!("../../../../assets/tables/crops.csv")
            .lines()
            .filter(|line| !line.starts_with('#') && !line.trim().is_empty())
            .skip(1)
            .filter_map(|line| {
                let mut cells = line.split(',');
                let name = cells.next()?;
                let sown = match cells.next()? {
                    "autumn" => Sown::Autumn,
                    "spring" => Sown::Spring,
                    _ => Sown::None,
                };
                Some(KnownCrop { name, sown, days: crop_day(cells.next()?).zip(crop_day(cells.next()?)) })
            })
            .collect()
    })
}

/// The crop of a name, letter case ignored.
pub fn crop(name: &str) -> Option<&'static KnownCrop> {
    crops().iter().find(|crop| same_name(crop.name, name))
}

/// The day of the crop year of a month and day, "10-05"; none if there is no such day. 29 February counts as 1 March.
///
/// ```
/// use awn_core::act::outlook::crops::crop_day;
/// assert_eq!((crop_day("07-01"), crop_day("09-15"), crop_day("06-30")), (Some(0), Some(76), Some(364)));
/// assert_eq!((crop_day("13-01"), crop_day("autumn")), (None, None));
/// ```
pub fn crop_day(text: &str) -> Option<CropDay> {
    let (month, day) = text.trim().split_once('-')?;
    let date = jiff::civil::Date::new(2027, month.parse().ok()?, day.parse().ok()?);
    let date = match date {
        Ok(date) => date,
        Err(_) if text.trim() == "02-29" => jiff::civil::date(2027, 3, 1),
        Err(_) => return None,
    };
    let from_january = i32::from(date.day_of_year()) - 1;
    // 1 July is day 181 of a common year, counted from 0.
    Some((from_january - 181).rem_euclid(365))
}

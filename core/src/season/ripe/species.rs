//! When seed of each weed is ripe in an ordinary year: `assets/tables/seed_windows.csv`, with its sources.

use std::sync::OnceLock;

use jiff::civil::Date;
use serde::Deserialize;

use crate::season::calendar::Days;

/// When the crop that the weed stands in was drilled.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Sown {
    /// In autumn, or not known.
    Autumn,
    /// In spring: seed is ripe later.
    Spring,
}

/// A row of the table: from 10 % to 20 % shed in most fields of an ordinary year.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct SeedWindow {
    /// EPPO code.
    pub species: String,
    /// Common name.
    pub name: String,
    /// Scientific name.
    pub latin: String,
    /// The crop.
    pub crop: Sown,
    from: String,
    to: String,
    /// Days from 15 % to 85 % shed.
    pub spread: f64,
    /// Seed to take for one sample, mugs.
    pub mugs: f64,
    /// How sure the row is, 0 to 1.
    pub confidence: f64,
    /// Where it is from.
    pub source: String,
}

impl SeedWindow {
    /// The days in a harvest year, later by `shift` days. None for years outside 1 to 9999.
    pub fn days(&self, year: i32, shift: i32) -> Option<Days> {
        let day = |text: &str| -> Option<Date> {
            let (month, day) = text.split_once('-')?;
            let plain = Date::new(i16::try_from(year).ok()?, month.parse().ok()?, day.parse().ok()?).ok()?;
            plain.checked_add(jiff::Span::new().days(shift)).ok()
        };
        Some(Days { from: day(&self.from)?, to: day(&self.to)? })
    }
}

/// The whole table.
pub fn seed_windows() -> &'static [SeedWindow] {
    static TABLE: OnceLock<Vec<SeedWindow>> = OnceLock::new();
    TABLE.get_or_init(|| {
        let text = include_str!("../../../../assets/tables/seed_windows.csv");
        let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
        reader.deserialize().filter_map(Result::ok).collect()
    })
}

/// The row of a weed for a crop; where a weed has no row for spring crops, that for autumn ones.
pub fn seed_window(species: &str, sown: Sown) -> Option<&'static SeedWindow> {
    let of =
        |sown: Sown| seed_windows().iter().find(move |row| row.species.eq_ignore_ascii_case(species) && row.crop == sown);
    of(sown).or_else(|| of(Sown::Autumn))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_is_read_and_has_a_source() {
        let text = include_str!("../../../../assets/tables/seed_windows.csv");
        let rows = text.lines().filter(|line| !line.starts_with('#') && !line.trim().is_empty()).count() - 1;
        assert_eq!(seed_windows().len(), rows);
        for row in seed_windows() {
            let days = row.days(2027, 0).unwrap();
            assert!(days.from < days.to && row.species.len() == 5 && !row.source.is_empty(), "{row:?}");
            assert!((0.0..=1.0).contains(&row.confidence) && row.spread > 0.0 && row.mugs > 0.0, "{row:?}");
        }
        // Second and third week of July, and later by a week in a late year.
        let late = seed_window("alomy", Sown::Autumn).unwrap().days(2027, 7).unwrap();
        assert_eq!((late.from.to_string(), late.to.to_string()), ("2027-07-15".into(), "2027-07-28".into()));
        assert_eq!(seed_window("LOLMU", Sown::Spring), seed_window("LOLMU", Sown::Autumn));
        assert!(seed_window("XXXXX", Sown::Autumn).is_none());
    }
}

//! The grass weeds that samples are taken of: EPPO codes, names, and how much seed a test needs (`assets/tables/seed_windows.csv`).

use crate::season::{Sown, seed_window, seed_windows};

/// A grass weed.
#[derive(Debug, Clone, PartialEq)]
pub struct Species {
    /// EPPO code.
    pub code: String,
    /// English name; the code, of a weed that is not known here.
    pub name: String,
    /// Botanical name; empty if not known here.
    pub botanical: String,
    /// Seed to take for one sample, mugs.
    pub mugs: f64,
}

impl Species {
    /// "black-grass (Alopecurus myosuroides)".
    pub fn words(&self) -> String {
        if self.botanical.is_empty() { self.name.clone() } else { format!("{} ({})", self.name, self.botanical) }
    }
}

/// Codes of the weeds that are known, each once, in the order of the table.
pub fn species_codes() -> Vec<&'static str> {
    let mut codes: Vec<&str> = seed_windows().iter().map(|row| row.species.as_str()).collect();
    codes.dedup();
    codes
}

/// The species of an EPPO code. A code that is not known stays as it is: it must never be taken for another weed.
pub fn species(code: &str) -> Species {
    let code = code.trim().to_uppercase();
    match seed_window(&code, Sown::Autumn) {
        Some(row) => Species { code, name: row.name.clone(), botanical: row.latin.clone(), mugs: row.mugs },
        None => Species { name: code.clone(), code, botanical: String::new(), mugs: 1.0 },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_weed_with_a_season_has_its_names_and_none_becomes_another() {
        for code in species_codes() {
            let weed = species(&code.to_lowercase());
            assert!(weed.code == code && !weed.botanical.is_empty() && weed.mugs >= 1.0, "{weed:?}");
        }
        assert_eq!(species("BROCO").botanical, "Bromus commutatus");
        assert_eq!(species("ABCDE").words(), "ABCDE");
    }
}

//! The grass weeds that samples are taken of: EPPO codes, names, and how much seed a test needs.

/// A grass weed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Species {
    /// EPPO code.
    pub code: &'static str,
    /// English name.
    pub name: &'static str,
    /// Botanical name.
    pub botanical: &'static str,
    /// Seed to take for one sample, mugs: one of black-grass (trade notice of July 1999), about three of wild-oats (advice page of a
    /// British institute of agricultural botany, 2020); of the others as of the one with seed of that size (our choice, no source).
    pub mugs: f64,
}

/// Every species.
pub const SPECIES: [Species; 7] = [
    Species { code: "ALOMY", name: "black-grass", botanical: "Alopecurus myosuroides", mugs: 1.0 },
    Species { code: "LOLMU", name: "Italian rye-grass", botanical: "Lolium multiflorum", mugs: 1.0 },
    Species { code: "LOLPE", name: "perennial rye-grass", botanical: "Lolium perenne", mugs: 1.0 },
    Species { code: "AVEFA", name: "wild-oat", botanical: "Avena fatua", mugs: 3.0 },
    Species { code: "AVELU", name: "winter wild-oat", botanical: "Avena sterilis ssp. ludoviciana", mugs: 3.0 },
    Species { code: "BROST", name: "barren brome", botanical: "Bromus sterilis", mugs: 3.0 },
    Species { code: "BROSE", name: "rye brome", botanical: "Bromus secalinus", mugs: 3.0 },
];

/// The species of an EPPO code; black-grass for a code that is not known.
pub fn species(code: &str) -> Species {
    SPECIES.into_iter().find(|species| species.code.eq_ignore_ascii_case(code.trim())).unwrap_or(SPECIES[0])
}

//! Units, and how figures are written for people.
//!
//! | quantity | unit in code | shown as |
//! |---|---|---|
//! | length | m | m, km from 1 km |
//! | area | m2 | ha, two decimals |
//! | density | heads/m2 or plants/m2 | same |
//! | reduction, standard | per cent, 0 to 100 | % |
//! | bearing | degrees clockwise from north | ° |
//! | coordinates | degrees, x = longitude, y = latitude, WGS 84 | degrees |

/// Square metres in a hectare.
pub const M2_PER_HA: f64 = 10_000.0;

/// An area in hectares, two decimals, without the unit: `"12.34"`.
pub fn ha(area_m2: f64) -> String {
    format!("{:.2}", area_m2 / M2_PER_HA)
}

/// A length for people: `"850 m"`, `"1.24 km"`.
pub fn length(metres: f64) -> String {
    if metres < 999.5 { format!("{metres:.0} m") } else { format!("{:.2} km", metres / 1000.0) }
}

/// A count with its noun: `"1 stop"`, `"3 stops"`.
pub fn count(n: usize, noun: &str) -> String {
    if n == 1 { format!("1 {noun}") } else { format!("{n} {noun}s") }
}

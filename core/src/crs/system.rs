//! A coordinate reference system.

/// A coordinate reference system, as a file or a user names it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Crs {
    /// Longitude and latitude on WGS 84, x = longitude.
    Wgs84,
    /// An EPSG code.
    Epsg(u32),
    /// Well-known text that matches no EPSG code.
    Wkt(String),
}

impl std::str::FromStr for Crs {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let digits = text.trim().to_ascii_uppercase().replace("EPSG:", "");
        match digits.parse() {
            Ok(4326) => Ok(Self::Wgs84),
            Ok(code) => Ok(Self::Epsg(code)),
            Err(_) => Err(format!("“{text}” names no coordinate system; write EPSG and a number, such as EPSG:27700")),
        }
    }
}

//! A coordinate reference system, and how it is recognised from what a file says of it.

use crate::crs::{names, wkt};

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

/// The British National Grid, which is converted by OSTN15 and never by a formula alone.
pub(super) const BRITISH_GRID: u32 = 27700;

impl Crs {
    /// The system of an EPSG code.
    pub fn from_epsg(code: u32) -> Self {
        match code {
            // WGS 84 as longitude and latitude, with or without height.
            4326 | 4979 => Self::Wgs84,
            // The British National Grid with heights.
            7405 => Self::Epsg(BRITISH_GRID),
            code => Self::Epsg(code),
        }
    }

    /// The system of a name that a naming authority gives: "EPSG:25832", "urn:ogc:def:crs:EPSG:6.9:25832",
    /// "http://www.opengis.net/def/crs/EPSG/0/25832", CRS84, and the horizontal part of a compound such as
    /// "urn:ogc:def:crs,crs:EPSG::25832,crs:EPSG::7837" or "EPSG:25832+7837". None: the name is not known.
    pub fn from_name(name: &str) -> Option<Self> {
        let plain = name.trim().trim_start_matches("urn:ogc:def:crs,");
        let horizontal = plain.split([',', '+', '&']).next().unwrap_or_default();
        let last = horizontal.rsplit([':', '/', '#']).next().unwrap_or_default().trim();
        if ["CRS84", "CRS84h", "WGS84"].iter().any(|known| last.eq_ignore_ascii_case(known)) {
            return Some(Self::Wgs84);
        }
        last.parse().ok().map(Self::from_epsg)
    }

    /// The system of well-known text: WKT 1 as OGC or as .prj files write it, or WKT 2.
    ///
    /// The British National Grid is recognised by its code, its name or its parameters, so that it always goes through
    /// OSTN15. Other systems without a code are matched to one by name and numbers where they can be, and otherwise handed to
    /// PROJ as they are.
    pub fn from_wkt(text: &str) -> Result<Self, String> {
        let root = wkt::parse(text).ok_or("the text that describes the coordinate system is empty or damaged")?;
        if wkt::is_british_grid(&root) {
            return Ok(Self::Epsg(BRITISH_GRID));
        }
        if let Some(code) = wkt::epsg_code(&root) {
            return Ok(Self::from_epsg(code));
        }
        if wkt::is_wgs84_degrees(&root) {
            return Ok(Self::Wgs84);
        }
        if let Some(code) = names::code_of(&root, text) {
            return Ok(Self::from_epsg(code));
        }
        Ok(Self::Wkt(text.trim().to_owned()))
    }

    /// The system that holds if eastings begin with the number of their zone although the system named has none, or the
    /// other way round: EPSG:25832 and 4647, 25831 and 5649, 25833 and 5650. None if `eastings` fit the system named.
    #[must_use]
    pub fn by_eastings(&self, eastings: impl Iterator<Item = f64>) -> Option<Self> {
        let Self::Epsg(code) = self else { return None };
        let (zone, _, other, prefixed) = [(31, 25831, 5649), (32, 25832, 4647), (33, 25833, 5650)]
            .into_iter()
            .flat_map(|(zone, plain, long)| [(zone, plain, long, false), (zone, long, plain, true)])
            .find(|(_, named, _, _)| named == code)?;
        let offset = if prefixed { 0.0 } else { f64::from(zone) * 1e6 };
        let (mut some, mut all) = (false, true);
        for easting in eastings {
            some = true;
            all &= (100_000.0..900_000.0).contains(&(easting - offset));
        }
        (some && all).then_some(Self::Epsg(other))
    }

    /// The system for people: "EPSG:25832", "WGS 84", or the name in the well-known text.
    pub fn label(&self) -> String {
        match self {
            Self::Wgs84 => "WGS 84".to_owned(),
            Self::Epsg(code) => format!("EPSG:{code}"),
            Self::Wkt(text) => wkt::parse(text).map_or_else(|| "unnamed".to_owned(), |root| root.name().to_owned()),
        }
    }

    /// What PROJ is asked for.
    pub(super) fn definition(&self) -> String {
        match self {
            Self::Wgs84 => "EPSG:4326".to_owned(),
            Self::Epsg(code) => format!("EPSG:{code}"),
            Self::Wkt(text) => text.clone(),
        }
    }
}

impl std::str::FromStr for Crs {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        if text.contains('[') {
            return Self::from_wkt(text);
        }
        let upper = text.trim().to_ascii_uppercase();
        if matches!(upper.as_str(), "WGS84" | "WGS 84" | "CRS84" | "OGC:CRS84") {
            return Ok(Self::Wgs84);
        }
        let digits = upper.strip_prefix("EPSG:").unwrap_or(&upper).trim();
        digits.parse().map(Self::from_epsg).map_err(|_not_a_number| {
            format!("“{text}” names no coordinate system; write EPSG and a number, such as EPSG:27700")
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The British National Grid as a .prj file of the ESRI kind writes it.
    const GRID_PRJ: &str = r#"PROJCS["British_National_Grid",GEOGCS["GCS_OSGB_1936",DATUM["D_OSGB_1936",
        SPHEROID["Airy_1830",6377563.396,299.3249646]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]],
        PROJECTION["Transverse_Mercator"],PARAMETER["False_Easting",400000.0],PARAMETER["False_Northing",-100000.0],
        PARAMETER["Central_Meridian",-2.0],PARAMETER["Scale_Factor",0.9996012717],PARAMETER["Latitude_Of_Origin",49.0],
        UNIT["Meter",1.0]]"#;

    #[test]
    fn british_grid_by_every_name() {
        let nameless = GRID_PRJ.replace("British_National_Grid", "My grid");
        let coded = r#"PROJCS["x",GEOGCS["y",DATUM["z",SPHEROID["s",6377563.396,299.3]],AUTHORITY["EPSG","4277"]],AUTHORITY["EPSG","27700"]]"#;
        let wkt2 = r#"PROJCRS["a",BASEGEOGCRS["b",DATUM["c",ELLIPSOID["Airy 1830",6377563.396,299.3249646,LENGTHUNIT["metre",1]]]],
            CONVERSION["d",METHOD["Transverse Mercator",ID["EPSG",9807]],PARAMETER["Latitude of natural origin",49],
            PARAMETER["Longitude of natural origin",-2],PARAMETER["Scale factor at natural origin",0.9996012717],
            PARAMETER["False easting",400000],PARAMETER["False northing",-100000]],CS[Cartesian,2],AXIS["(E)",east],
            AXIS["(N)",north],LENGTHUNIT["metre",1]]"#;
        let rounded = nameless.replace("0.9996012717", "0.999601");
        for text in [GRID_PRJ, &nameless, &rounded, coded, wkt2, "EPSG:27700", "epsg:27700", "27700", "EPSG:7405"] {
            assert_eq!(text.parse(), Ok(Crs::Epsg(27700)), "{text}");
        }
    }

    #[test]
    fn a_grid_that_only_looks_alike_is_left_to_proj() {
        let moved = GRID_PRJ.replace("British_National_Grid", "Other").replace("400000.0", "500000.0");
        assert!(matches!(Crs::from_wkt(&moved), Ok(Crs::Wkt(_))));
    }

    #[test]
    fn degrees_on_wgs_84() {
        let prj = r#"GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984",SPHEROID["WGS_1984",6378137.0,298.257223563]],
            PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]]"#;
        assert_eq!(Crs::from_wkt(prj), Ok(Crs::Wgs84));
        assert!("Long Acre".parse::<Crs>().is_err());
        assert!(Crs::from_wkt("").is_err());
    }
}

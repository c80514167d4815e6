//! Positions as people write them: degrees with minutes and seconds, and letters of national grids.

use geo::Coord;

use crate::crs::{Converter, Crs};

/// An angle in degrees: "52.51", "-0.4", "52°30'12.5\"N", "W 0 24.5", "52:30:12N", "52-30-12N", "52 deg 30 min north", "5230.75N".
/// `letters` are those of the positive and the negative half, such as N and S. None if it is no angle of that kind.
pub(super) fn angle(text: &str, letters: (char, char)) -> Option<f64> {
    angle_of(&spelled(text), letters)
}

/// Words for parts and directions as their signs and letters, in capitals. O is left: it is east in German and Dutch, and west in
/// French.
fn spelled(text: &str) -> String {
    const WORDS: [(&str, &str); 27] = [
        ("DEGREES", "°"),
        ("DEGREE", "°"),
        ("DEG", "°"),
        ("GRADER", "°"),
        ("MINUTES", "'"),
        ("MINUTE", "'"),
        ("MINS", "'"),
        ("MIN", "'"),
        ("SECONDS", "\""),
        ("SECOND", "\""),
        ("SECS", "\""),
        ("SEC", "\""),
        ("NORTH", "N"),
        ("NORD", "N"),
        ("SOUTH", "S"),
        ("ZUID", "S"),
        ("SYD", "S"),
        ("SUD", "S"),
        ("SÜD", "S"),
        ("EAST", "E"),
        ("OOST", "E"),
        ("ØST", "E"),
        ("ÖST", "E"),
        ("OST", "E"),
        ("WEST", "W"),
        ("VEST", "W"),
        ("OUEST", "W"),
    ];
    let mut said = text.trim().to_uppercase().replace(['−', '–'], "-");
    if said.chars().filter(|c| c.is_alphabetic()).count() > 1 {
        for (word, sign) in WORDS {
            said = said.replace(word, sign);
        }
    }
    said.replace(['Ø', 'Ö'], "E").replace('V', "W")
}

fn angle_of(upper: &str, letters: (char, char)) -> Option<f64> {
    let (positive, negative) = letters;
    let mut rest = upper.trim().to_owned();
    let mut sign = None;
    if let Some(found) = rest.chars().find(|c| *c == positive || *c == negative) {
        let alone = rest.chars().filter(|c| *c == positive || *c == negative).count() == 1;
        let at_end = rest.starts_with(found) || rest.ends_with(found);
        // S may be the letter of seconds as well: "52d30m12s" has one at its end.
        let seconds = found == 'S' && rest.contains('M') && rest.ends_with('S') && alone;
        if !seconds {
            if !alone && found != 'S' || !at_end {
                return None;
            }
            rest = rest.trim_start_matches(found).to_owned();
            // Receivers write a comma before the letter.
            rest = rest.strip_suffix(found).unwrap_or(&rest).trim_end_matches([',', ' ']).to_owned();
            sign = Some(if found == negative { -1.0 } else { 1.0 });
        }
    }
    // A comma is a decimal mark here: two numbers would stand in two columns.
    let rest = rest.trim().replace(',', ".");
    let (minus, rest) = rest.strip_prefix('-').map_or((false, rest.strip_prefix('+').unwrap_or(&rest)), |rest| (true, rest));
    if minus && sign == Some(-1.0) {
        return None;
    }
    let marks = |c: char| {
        c.is_whitespace()
            || matches!(
                c,
                '°' | 'º'
                    | '˚'
                    | '*'
                    | '\''
                    | '′'
                    | '’'
                    | '‘'
                    | '´'
                    | '`'
                    | '"'
                    | '″'
                    | '”'
                    | '“'
                    | '˝'
                    | ':'
                    | '-'
                    | '_'
            )
            || matches!(c, 'D' | 'M' | 'S')
    };
    let texts: Vec<&str> = rest.split(marks).filter(|part| !part.is_empty()).collect();
    let numbers: Vec<f64> = texts.iter().map(|part| part.parse().ok()).collect::<Option<_>>()?;
    let (degrees, parts) = numbers.split_first()?;
    let whole = |value: f64| value.fract() == 0.0;
    let value = match parts {
        // Degrees and minutes without anything between, as receivers write them (NMEA 0183): four or five digits and a letter.
        [] if sign.is_some() && matches!(texts.first()?.split('.').next()?.len(), 4 | 5) => {
            let (degrees, minutes) = ((degrees / 100.0).floor(), degrees % 100.0);
            (minutes < 60.0).then_some(degrees + minutes / 60.0)?
        }
        [] => *degrees,
        [minutes] if whole(*degrees) && (0.0..60.0).contains(minutes) => degrees + minutes / 60.0,
        [minutes, seconds]
            if whole(*degrees) && whole(*minutes) && (0.0..60.0).contains(minutes) && (0.0..60.0).contains(seconds) =>
        {
            degrees + minutes / 60.0 + seconds / 3600.0
        }
        _ => return None,
    };
    let most = if positive == 'N' { 90.0 } else { 180.0 };
    let begins = rest.starts_with(|c: char| c.is_ascii_digit() || c == '.');
    (begins && value <= most).then_some(if minus { -value } else { sign.unwrap_or(1.0) * value })
}

/// Latitude and longitude in one text, latitude first unless letters or words say otherwise: "52.5, -0.4", "52,5 -0,4", "52°30'N
/// 0°24'W", "lon -0.4 lat 52.5", "(52.5; -0.4)", "geo:52.5,-0.4" (RFC 5870).
pub(super) fn pair(text: &str) -> Option<Coord<f64>> {
    let mut said = text.trim().trim_matches(['(', ')', '[', ']', '{', '}']).to_uppercase();
    let first_of = |words: [&str; 2]| words.iter().filter_map(|word| said.find(word)).min();
    let turned = matches!((first_of(["LON", "LNG"]), first_of(["LAT", "BREITE"])), (Some(lon), Some(lat)) if lon < lat);
    for word in ["GEO:", "LATITUDE", "LONGITUDE", "LAT", "LONG", "LON", "LNG", "BREITE", "LÄNGE", "="] {
        said = said.replace(word, " ");
    }
    let said = spelled(said.trim().trim_start_matches(':'));
    let blank = |at: usize| said.get(at..).is_none_or(|rest| rest.starts_with(char::is_whitespace));
    let cuts = |bare: bool| {
        let cuts = said.char_indices().filter(move |(at, c)| match c {
            ';' => true,
            // Between digits a comma is more likely a decimal mark than a separator.
            ',' | '/' | '|' => bare != blank(at + 1),
            c => !bare && c.is_whitespace(),
        });
        cuts.filter_map(|(at, c)| Some((said.get(..at)?, said.get(at + c.len_utf8()..)?))).collect::<Vec<_>>()
    };
    let found = |bare| {
        let mut found: Vec<Coord<f64>> = Vec::new();
        for (a, b) in cuts(bare) {
            let at = halves(a.trim().trim_matches(':'), b.trim().trim_matches(':'), turned);
            found.extend(at.filter(|at| !found.contains(at)));
        }
        found
    };
    let list = Some(found(false)).filter(|list| !list.is_empty()).unwrap_or_else(|| found(true));
    match list.as_slice() {
        [one] => Some(*one),
        _ => None,
    }
}

/// The position of two angles, if they are such.
fn halves(a: &str, b: &str, turned: bool) -> Option<Coord<f64>> {
    let lettered = |text: &str| text.contains(['N', 'E', 'W']) || text.ends_with('S') || text.starts_with('S');
    if lettered(a) != lettered(b) {
        return None;
    }
    let lon_first = || angle_of(b, ('N', 'S')).zip(angle_of(a, ('E', 'W')));
    let lat_first = || angle_of(a, ('N', 'S')).zip(angle_of(b, ('E', 'W')));
    let found = if turned { lon_first() } else { lat_first().or_else(|| if lettered(a) { lon_first() } else { None }) };
    found.map(|(y, x)| Coord { x, y })
}

/// A national grid with letters.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Grid {
    /// Great Britain, two letters: EPSG:27700.
    British,
    /// Ireland, one letter: EPSG:29903.
    Irish,
}

/// A reference such as "TF 123 456".
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Reference {
    pub grid: Grid,
    /// Easting and northing in m of the south-west corner of the square it names.
    pub corner: Coord<f64>,
    /// Side of that square, m.
    pub square_m: f64,
}

/// A grid reference of two letters (Great Britain) or one (Ireland) and an even number of digits, 2 to 10.
///
/// Squares of 500 km and of 100 km each run A to Z without I, from the north-west, row by row (Ordnance Survey, "A guide to
/// coordinate systems in Great Britain", section 7; Irish grid likewise with one square).
pub(super) fn grid_reference(text: &str) -> Option<Reference> {
    let between = |c: char| c.is_whitespace() || matches!(c, '-' | ',' | '/' | '_');
    let plain: String = text.trim().chars().filter(|c| !between(*c)).collect::<String>().to_uppercase();
    let letters: Vec<u32> = plain.chars().take_while(char::is_ascii_uppercase).map(|c| c as u32 - 'A' as u32).collect();
    let digits = plain.get(letters.len()..)?;
    // The letter I, number 8, is left out.
    let number = |letter: &u32| match letter {
        0..=7 => Some(*letter),
        9..=25 => Some(letter - 1),
        _ => None,
    };
    let (grid, east, north) = match letters.as_slice() {
        [one] => {
            let at = number(one)?;
            (Grid::Irish, i64::from(at % 5), 4 - i64::from(at / 5))
        }
        [first, second] => {
            let (first, second) = (i64::from(number(first)?), i64::from(number(second)?));
            (Grid::British, (first % 5 - 2) * 5 + second % 5, 19 - first / 5 * 5 - second / 5)
        }
        _ => return None,
    };
    let inside = grid == Grid::Irish || ((0..7).contains(&east) && (0..13).contains(&north));
    let even = (2..=10).contains(&digits.len()) && digits.len().is_multiple_of(2);
    if !(inside && even && digits.bytes().all(|byte| byte.is_ascii_digit())) {
        return None;
    }
    let (x, y) = digits.split_at(digits.len() / 2);
    let square_m = 10f64.powi(5 - x.len() as i32);
    let metres = |square: i64, digits: &str| Some(square as f64 * 1e5 + digits.parse::<f64>().ok()? * square_m);
    Some(Reference { grid, corner: Coord { x: metres(east, x)?, y: metres(north, y)? }, square_m })
}

/// The place, in degrees, that a person typed: latitude and longitude in any usual form, or a grid reference of eight figures or
/// more, of which the middle of the square is taken. The error says what to write.
pub fn place_of_text(text: &str) -> Result<Coord<f64>, String> {
    if let Some(found) = pair(text) {
        return Ok(found);
    }
    let Some(reference) = grid_reference(text) else {
        return Err("Write 52.12345, -0.43210, or a grid reference such as TL 12345 67890.".to_owned());
    };
    if reference.square_m > FINE_M {
        return Err(format!("It names a square of {:.0} m: give eight or ten figures.", reference.square_m));
    }
    let half = 0.5 * reference.square_m;
    let code = if reference.grid == Grid::Irish { 29_903 } else { 27_700 };
    let converter = Converter::new(&Crs::Epsg(code)).map_err(|error| format!("{error}."))?;
    let mut at = [reference.corner + Coord { x: half, y: half }];
    converter.to_lonlat(&mut at).map_err(|error| format!("{error}."))?;
    Ok(at[0])
}

/// Squares of a grid reference up to this size name a place, m.
const FINE_M: f64 = 10.0;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn angles_of_many_kinds() {
        let wanted = 52.0 + 30.0 / 60.0 + 12.5 / 3600.0;
        for text in ["52°30'12.5\"N", "N 52 30 12.5", "52:30:12.5", "52d30m12.5s", "52° 30′ 12,5″ n", "+52 30 12.5"]
            .into_iter()
            .chain(["52°30'12.5''N", "52-30-12.5N", "52 deg 30 min 12.5 sec north", "N52º30´12.5˝", "5230.2083333333333N"])
            .chain(["5230.2083333333333,N", "52_30_12.5 N", "52 degrees 30 minutes 12.5 seconds", "52*30'12,5\"N"])
        {
            let found = angle(text, ('N', 'S'));
            assert!(found.is_some_and(|found| (found - wanted).abs() < 1e-11), "{text}: {found:?}");
        }
        assert_eq!(angle("0°24'W", ('E', 'W')), Some(-0.4));
        assert_eq!(angle("-0.4", ('E', 'W')), Some(-0.4));
        assert_eq!(angle("-0 24", ('E', 'W')), Some(-0.4));
        assert_eq!(angle("33.5S", ('N', 'S')), Some(-33.5));
        for text in ["00024.0W", "0°24' vest", "0 24 V", "0024.00,W", "W0.4°", "0.4 deg West"] {
            assert_eq!(angle(text, ('E', 'W')), Some(-0.4), "{text}");
        }
        assert_eq!((angle("10°30'Ø", ('E', 'W')), angle("10,5 Ö", ('E', 'W'))), (Some(10.5), Some(10.5)));
        // East in German, west in French.
        assert_eq!(angle("10.5 O", ('E', 'W')), None);
        assert_eq!(angle("33d30m0sS", ('N', 'S')), Some(-33.5));
        for wrong in ["", "52 61", "52.5 30", "91", "12E", "N", "52 30 10 5", "-5W", "5N5", "north", "--5"] {
            assert_eq!(angle(wrong, ('N', 'S')), None, "{wrong}");
        }
    }

    #[test]
    fn places_as_typed() {
        for text in ["52.5, -0.25", "52.5 -0.25", " 52.5;-0.25 ", "52°30'N 0°15'W"] {
            assert_eq!(place_of_text(text), Ok(Coord { x: -0.25, y: 52.5 }), "{text}");
        }
        // Caister Water Tower, the worked example of OSTN15 (Ordnance Survey, transformation user guide, from memory): easting
        // 651409.804, northing 313177.450 is 52°39'28.8282"N 1°42'57.8663"E; the middle of its square is half a metre off at most.
        let found = place_of_text("TG 51409 13177").unwrap();
        let wanted = Coord { x: 1.0 + 42.0 / 60.0 + 57.8663 / 3600.0, y: 52.0 + 39.0 / 60.0 + 28.8282 / 3600.0 };
        assert!((found.x - wanted.x).abs() < 8e-6 && (found.y - wanted.y).abs() < 5e-6, "{found:?} {wanted:?}");
        for (text, hint) in [("", "grid reference"), ("52.5", "Write"), ("TL 12 34", "1000 m"), ("95, 0", "Write")] {
            assert!(place_of_text(text).unwrap_err().contains(hint), "{text}");
        }
    }

    #[test]
    fn pairs_in_one_text() {
        let wanted = Some(Coord { x: -0.4, y: 52.5 });
        for text in ["52.5, -0.4", "52.5 -0.4", "52°30'N 0°24'W", "N52 30 W0 24", "0°24'W, 52°30'N", "52.5N 0.4W"]
            .into_iter()
            .chain(["52.5,-0.4", "52,5 -0,4", "52,5, -0,4", "52,5; -0,4", "(52.5, -0.4)", "geo:52.5,-0.4", "52.5/-0.4"])
            .chain(["lat 52.5 lon -0.4", "Lon: -0.4, Lat: 52.5", "Latitude=52.5 Longitude=-0.4", "52 30 N,0 24 W"])
            .chain(["52.5 north, 0.4 west", "5230.00N 00024.00W", "52.5°, -0.4°"])
        {
            assert_eq!(pair(text), wanted, "{text}");
        }
        assert_eq!((pair("52.5"), pair("a, b"), pair("95, 10")), (None, None, None));
    }

    #[test]
    fn grid_letters() {
        let at = |text: &str| grid_reference(text).map(|found| (found.grid, found.corner.x, found.corner.y, found.square_m));
        assert_eq!(at("TF 123 456"), Some((Grid::British, 512_300.0, 345_600.0, 100.0)));
        assert_eq!(at("tg5140913177"), Some((Grid::British, 651_409.0, 313_177.0, 1.0)));
        for text in ["TF123456", "tf-123-456", "TF 123,456", " TF12 34 56 ", "TF/123/456"] {
            assert_eq!(at(text), at("TF 123 456"), "{text}");
        }
        assert_eq!(at("SV 0 0"), Some((Grid::British, 0.0, 0.0, 10_000.0)));
        assert_eq!(at("HP 61 13"), Some((Grid::British, 461_000.0, 1_213_000.0, 1000.0)));
        // Dublin's Spire, O 15905 34671 by the Irish grid (from memory: square O begins at 300 km east, 200 km north).
        assert_eq!(at("O 15905 34671"), Some((Grid::Irish, 315_905.0, 234_671.0, 1.0)));
        for wrong in ["TI 123 456", "AA 123 456", "TF 12 345", "TF", "123 456", "TFX 12 34", "TF 123456123456"] {
            assert_eq!(at(wrong), None, "{wrong}");
        }
    }
}

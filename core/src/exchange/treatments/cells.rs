//! Doses, money and percentages as people write them. Nothing is assumed: a dose without a unit, or of a product, is refused
//! with what to do.

use crate::exchange::results::cells::{self, Number};
use crate::formats::Cell;

/// What to write in place of a dose of product.
const OF_PRODUCT: &str = "Write g of active a hectare: the product's dose times the active in it, as its label says.";

/// What is wrong with a cell, and what to do.
pub(super) type Wrong = (String, String);

/// How much a unit of active is in g/ha; an error for units of product.
fn grams(unit: &str) -> Result<Option<f64>, ()> {
    let plain: String = unit.to_lowercase().chars().filter(|c| c.is_alphanumeric() || *c == '/').collect();
    if plain.contains("product") || plain.contains("prod") {
        return Err(());
    }
    let plain = plain.replace("perha", "/ha").replace("perhectare", "/ha").replace("hectare", "ha");
    let plain = plain.replace("ai/", "/").replace("as/", "/").replace("active/", "/");
    let plain = plain.trim_end_matches("ai").trim_end_matches("active").trim_end_matches("/ha");
    match plain {
        "g" | "gram" | "grams" | "gha" => Ok(Some(1.0)),
        "kg" | "kgha" => Ok(Some(1000.0)),
        "l" | "ml" | "lha" | "mlha" | "litre" | "litres" | "liter" | "liters" | "pt" | "pint" | "pints" => Err(()),
        _ => Ok(None),
    }
}

/// Doses in g of active a hectare, one for each number joined by "+". `heading` and `unit`: where a number alone has its unit
/// from. Empty where nothing is written.
pub(super) fn doses(cell: &Cell, unit: &str, heading: &str) -> Result<Vec<f64>, Wrong> {
    let written = match cell {
        Cell::Empty => return Ok(Vec::new()),
        Cell::Number(number) => format!("{number}"),
        Cell::Text(text) => text.trim().to_owned(),
    };
    let split = |part: &str| {
        let at = part.find(|c: char| c.is_alphabetic()).unwrap_or(part.len());
        let (number, unit) = part.split_at(at);
        (number.trim().to_owned(), unit.trim().to_owned())
    };
    let parts: Vec<(String, String)> = written.split('+').map(split).collect();
    // "240+60 g/ha": the unit stands behind the last.
    let last = parts.iter().rev().map(|(_, unit)| unit).find(|unit| !unit.is_empty()).cloned();
    let others: Vec<String> = [last, Some(unit.trim().to_owned()), unit_in(heading)].into_iter().flatten().collect();
    let read = |(number, own): &(String, String)| {
        let Some(named) = std::iter::once(own).chain(&others).find(|unit| !unit.is_empty()) else {
            let what = format!("the dose {written} has no unit.");
            return Err((
                what,
                format!(
                    "Write {written} g/ha, name the column dose_g_per_ha, or give the unit for all rows (--set unit=g/ha)."
                ),
            ));
        };
        let by = match grams(named) {
            Ok(Some(by)) => by,
            Err(()) => {
                let what = format!("the dose {written} is in {named} of product, and the product is not known.");
                return Err((what, OF_PRODUCT.to_owned()));
            }
            Ok(None) => return Err((format!("“{named}” is no unit of dose."), "Use g/ha or kg/ha of active.".to_owned())),
        };
        match cells::number(&Cell::text(number)) {
            Number::Exact(number) if number > 0.0 => Ok(number * by),
            _ => {
                let hint = "Write a number above 0 with its unit: 240 g/ha.";
                Err((format!("the dose “{written}” cannot be read."), hint.to_owned()))
            }
        }
    };
    parts.iter().map(read).collect()
}

/// The unit that a heading names: "Dose (kg/ha)" or "dose_g_per_ha".
fn unit_in(heading: &str) -> Option<String> {
    let plain = heading.to_lowercase().replace(['_', '(', ')', '[', ']', ',', ';'], " ").replace(" per ", "/");
    let unit = plain.split_whitespace().find(|word| word.ends_with("/ha") || word.ends_with("/hectare"))?;
    let product = if plain.contains("prod") { " product" } else { "" };
    Some(format!("{unit}{product}"))
}

/// A sum of money that is not below 0; signs and codes of currencies are left out.
pub(super) fn money(cell: &Cell) -> Result<Option<f64>, Wrong> {
    let plain = match cell {
        // Other ways to write a sum below 0: a minus sign that is no hyphen, and brackets. They must not lose their sign.
        Cell::Text(text) => {
            let text = text.replace(['−', '–', '('], "-");
            Cell::text(text.trim_matches(|c: char| !(c.is_ascii_digit() || c == '-' || c == '.')))
        }
        other => other.clone(),
    };
    match cells::number(&plain) {
        Number::Empty if cell.is_empty() => Ok(None),
        Number::NotTested if *cell == plain => Ok(None),
        Number::Exact(number) if number >= 0.0 => Ok(Some(number)),
        _ => Err((format!("“{}” is no cost.", cell.written()), "Write a sum a hectare, such as 31.50.".to_owned())),
    }
}

/// Low, likely and high in %: three cells, or one with "60-75-85". Only what is written is taken: one figure means that all
/// three are the same.
pub(super) fn control(low: &Cell, likely: &Cell, high: &Cell) -> Result<[f64; 3], Wrong> {
    let hint = "Write 0 to 100, as low, likely and high.".to_owned();
    let number = |cell: &Cell, name: &str| match cells::number(cell) {
        Number::Exact(number) if (0.0..=100.0).contains(&number) => Ok(Some(number)),
        Number::Exact(number) => Err((format!("{name} is {number} %; control lies between 0 and 100 %."), hint.clone())),
        Number::Empty => Ok(None),
        _ => Err((format!("“{}” in {name} is no percentage.", cell.written()), hint.clone())),
    };
    if let Cell::Text(text) = likely {
        let parts: Vec<&str> = text.trim_end_matches('%').split(['-', '–', '/']).map(str::trim).collect();
        if let [a, b, c] = parts[..] {
            let [a, b, c] = [a, b, c].map(|part| number(&Cell::text(part), "control_likely"));
            if let (Some(a), Some(b), Some(c)) = (a?, b?, c?) {
                return Ok([a, b, c]);
            }
        }
    }
    let Some(middle) = number(likely, "control_likely")? else {
        let hint = "Write what you expect on susceptible plants; Awn has no figures of its own.".to_owned();
        return Err(("control_likely is empty.".to_owned(), hint));
    };
    match (number(low, "control_low")?, number(high, "control_high")?) {
        (Some(low), Some(high)) => Ok([low, middle, high]),
        (None, None) => Ok([middle; 3]),
        _ => Err(("one of control_low and control_high is empty.".to_owned(), "Give both, or neither.".to_owned())),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn doses_need_a_unit_of_active() {
        let dose = |text: &str, unit: &str, heading: &str| doses(&Cell::text(text), unit, heading);
        for (text, unit, heading, grams) in [
            ("240 g/ha", "", "", vec![240.0]),
            ("0.24 kg/ha", "", "", vec![240.0]),
            ("1,2 kg/ha", "", "", vec![1200.0]),
            ("240", "g/ha", "", vec![240.0]),
            ("240", "", "dose_g_per_ha", vec![240.0]),
            ("0.24", "", "Dose (kg/ha)", vec![240.0]),
            ("240+60 g/ha", "", "", vec![240.0, 60.0]),
            ("0.24 kg/ha + 60 g/ha", "", "", vec![240.0, 60.0]),
            ("14.5 g ai/ha", "", "", vec![14.5]),
            ("", "", "", vec![]),
        ] {
            assert_eq!(dose(text, unit, heading), Ok(grams), "{text} {unit} {heading}");
        }
        assert!(dose("240", "", "Dose").unwrap_err().1.contains("240 g/ha"));
        for (text, unit, heading) in
            [("1.5 l/ha", "", ""), ("400 g product/ha", "", ""), ("2", "", "Rate (l/ha)"), ("0.5", "litres", "")]
        {
            let (what, hint) = dose(text, unit, heading).unwrap_err();
            assert!(what.contains("product") && hint.contains("label"), "{text}: {what}");
        }
        for text in ["-3 g/ha", "0 g/ha", "lots", "3 stone/acre"] {
            assert!(dose(text, "", "").is_err(), "{text}");
        }
        assert_eq!(doses(&Cell::Number(240.0), "", "g/ha"), Ok(vec![240.0]));
    }

    #[test]
    fn money_and_percentages() {
        assert_eq!(money(&Cell::text("£31.50")), Ok(Some(31.5)));
        assert_eq!(money(&Cell::text("31.50 EUR")), Ok(Some(31.5)));
        assert_eq!(money(&Cell::Empty), Ok(None));
        for text in ["-3", "dear", "−3", "£−3.50", "(3.50)", "-£3"] {
            assert!(money(&Cell::text(text)).is_err(), "{text}");
        }
        assert_eq!(money(&Cell::Number(-3.0)).unwrap_err().0, "“-3” is no cost.");
        let read = |low: &str, likely: &str, high: &str| control(&Cell::text(low), &Cell::text(likely), &Cell::text(high));
        assert_eq!(read("60", "75", "85"), Ok([60.0, 75.0, 85.0]));
        assert_eq!(read("", "60-75-85 %", ""), Ok([60.0, 75.0, 85.0]));
        assert_eq!(read("", "75 %", ""), Ok([75.0; 3]));
        assert!(read("60", "175", "85").unwrap_err().0.contains("between 0 and 100"));
        assert!(read("", "", "").unwrap_err().1.contains("no figures of its own"));
        assert!(read("60", "75", "").is_err());
    }
}

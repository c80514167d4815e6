//! The order of fields from cleanest to worst, to print and to take along: a PDF, or plain text.

use std::collections::BTreeMap;

use jiff::civil::Date;
use serde_json::{Value, json};

use crate::act::{self, Block, Place};
use crate::model::{Rating, Records};
use crate::report::palette;
use crate::typeset::{Archival, Manuscript, TypesetError, typeset};
use crate::units::ha;

/// What is said above the list.
const LEAD: &str = "Harvest and cultivate in this order, so that the combine, the baler and the drill carry as little resistant seed as they \
    can into clean land. Clean machines down between the parts.";

/// Said below the list.
const CAUTIONS: [&str; 3] = [
    "Cleanest first and worst last is common advice; how the fields are ranked is said in each line.",
    "Fields of which too little is known are not clean: they stand between.",
    "Ripeness, weather and the ground decide as well. Local rules and qualified advice come before this list.",
];

fn blocks(places: &[Place]) -> impl Iterator<Item = (Block, Vec<(usize, &Place)>)> {
    let numbered: Vec<(usize, &Place)> = (1..).zip(places).collect();
    [Block::Clean, Block::Unknown, Block::Resistant].into_iter().filter_map(move |block| {
        let own: Vec<_> = numbered.iter().filter(|(_, place)| place.block == block).copied().collect();
        (!own.is_empty()).then_some((block, own))
    })
}

fn name_and_ha(records: &Records, place: &Place) -> (String, String) {
    records.fields.get(&place.field).map_or_else(Default::default, |field| (field.name.clone(), ha(field.area_m2())))
}

/// The list as text.
pub fn field_order_text(records: &Records, year: i32, farms: &BTreeMap<String, Vec<Place>>) -> String {
    let mut text = format!("Fields from cleanest to worst, harvest {year}\n{LEAD}\n");
    for (farm, places) in farms {
        text.push_str(&format!("\n{farm}\n"));
        for (block, own) in blocks(places) {
            text.push_str(&format!("  {}\n", block.label()));
            for (number, place) in own {
                let (name, ha) = name_and_ha(records, place);
                let worst = place.worst.map_or("-", Rating::label);
                text.push_str(&format!("  {number:>3}  [ ] {name:<24} {ha:>7} ha  {worst:<4} {}\n", place.reason));
            }
        }
    }
    text.push('\n');
    for caution in CAUTIONS.into_iter().chain([act::NEVER]) {
        text.push_str(caution);
        text.push('\n');
    }
    text
}

fn hex([red, green, blue]: palette::Rgb) -> String {
    format!("#{red:02x}{green:02x}{blue:02x}")
}

/// The list as PDF.
pub fn field_order_pdf(
    records: &Records,
    year: i32,
    farms: &BTreeMap<String, Vec<Place>>,
    date: Date,
) -> Result<Vec<u8>, TypesetError> {
    let farm = |(name, places): (&String, &Vec<Place>)| -> Value {
        let parts: Vec<Value> = blocks(places)
            .map(|(block, own)| {
                let fields: Vec<Value> = own
                    .into_iter()
                    .map(|(number, place)| {
                        let (name, ha) = name_and_ha(records, place);
                        json!({
                            "place": number.to_string(), "name": name, "ha": ha, "why": place.reason,
                            "worst": place.worst.map_or("–", Rating::label),
                        })
                    })
                    .collect();
                json!({ "name": block.label(), "fields": fields })
            })
            .collect();
        json!({ "name": name, "blocks": parts })
    };
    let data = json!({
        "title": format!("Fields from cleanest to worst, harvest {year}"),
        "lead": LEAD,
        "farms": farms.iter().map(farm).collect::<Vec<_>>(),
        "cautions": CAUTIONS,
        // On every page, as each farm's page may be taken along alone.
        "never": act::NEVER,
        "footer": format!("{} · {}", records.settings.name, date.strftime("%-d %B %Y")),
        "ground": hex(palette::RAISED), "ink": hex(palette::INK), "muted": hex(palette::MUTED), "line": hex(palette::LINE),
    });
    let files = BTreeMap::from([("data.json".to_owned(), data.to_string().into_bytes())]);
    let manuscript = Manuscript { template: include_str!("../../../assets/pages/field-order.typ"), files, date };
    typeset(&manuscript)?.pdf(Archival::No)
}

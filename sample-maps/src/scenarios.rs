//! What the user of the sample farm thinks of doing in the coming years, with prices and costs: all made up, in a usual range.

use awn_core::model::{
    CropMoney, Cultivation, LowLikelyHigh, OutlookSettings, Record, Records, Scenario, ScenarioId, ScenarioYear,
};
use awn_core::project::Edit;

/// Crop, cultivation, day of drilling, control in % and cost a hectare.
type Row = (&'static str, Cultivation, &'static str, [f64; 3], f64);

const AS_NOW: &[Row] = &[
    ("winter wheat", Cultivation::Deep, "09-28", [80.0, 92.0, 97.0], 128.0),
    ("winter wheat", Cultivation::Deep, "09-28", [80.0, 92.0, 97.0], 128.0),
    ("winter oilseed rape", Cultivation::Deep, "08-20", [88.0, 96.0, 99.0], 118.0),
];
const LATER: &[Row] = &[
    ("winter wheat", Cultivation::Shallow, "10-18", [82.0, 93.0, 97.5], 132.0),
    ("winter wheat", Cultivation::Shallow, "10-18", [82.0, 93.0, 97.5], 132.0),
    ("winter oilseed rape", Cultivation::Deep, "08-20", [88.0, 96.0, 99.0], 118.0),
];
const SPRING: &[Row] = &[
    ("spring barley", Cultivation::Plough, "03-12", [60.0, 80.0, 92.0], 62.0),
    ("spring barley", Cultivation::Shallow, "03-12", [60.0, 80.0, 92.0], 62.0),
    ("winter wheat", Cultivation::Shallow, "10-14", [82.0, 93.0, 97.5], 132.0),
    ("winter wheat", Cultivation::Shallow, "10-14", [82.0, 93.0, 97.5], 132.0),
];
const PLOUGH_ONCE: &[Row] = &[
    ("winter wheat", Cultivation::Plough, "10-05", [80.0, 92.0, 97.0], 128.0),
    ("winter wheat", Cultivation::Shallow, "10-05", [80.0, 92.0, 97.0], 128.0),
    ("spring barley", Cultivation::Shallow, "03-12", [60.0, 80.0, 92.0], 62.0),
    ("winter wheat", Cultivation::Shallow, "10-05", [80.0, 92.0, 97.0], 128.0),
    ("winter oilseed rape", Cultivation::Shallow, "08-20", [88.0, 96.0, 99.0], 118.0),
];

/// Adds the scenarios that are not there yet, and prices and costs.
pub fn put(edit: &mut Edit<'_>, records: &Records) {
    let list: [(&str, &str, &[Row]); 4] = [
        ("As now", "Two wheats and rape, drilled in September.", AS_NOW),
        ("Drill later", "The same, wheat drilled in mid-October with a competitive cultivar.", LATER),
        ("Two spring crops", "Ploughed once for spring barley, twice, then wheat.", SPRING),
        ("Plough once", "Ploughed in the first autumn, then shallow.", PLOUGH_ONCE),
    ];
    for (name, note, rows) in list {
        if records.scenarios.values().any(|scenario| scenario.name == name) {
            continue;
        }
        let years = rows.iter().map(|(crop, cultivation, drilled, [low, likely, high], cost)| ScenarioYear {
            crop: (*crop).to_owned(),
            cultivation: *cultivation,
            drilled: Some((*drilled).to_owned()),
            control: LowLikelyHigh::new(*low, *likely, *high),
            competitive: name == "Drill later" && *crop == "winter wheat",
            cost_per_ha: Some(*cost),
            ..ScenarioYear::default()
        });
        edit.put(Record::Scenario(Scenario {
            id: ScenarioId::new(),
            name: name.to_owned(),
            note: note.to_owned(),
            years: years.collect(),
        }));
    }
}

/// Prices, yields and costs.
pub fn outlook_settings() -> OutlookSettings {
    let crops = [("winter wheat", 182.0, 8.6), ("winter oilseed rape", 395.0, 3.4), ("spring barley", 168.0, 6.1), ("winter beans", 224.0, 4.0)];
    OutlookSettings {
        crops: crops.map(|(crop, price_per_t, yield_t_per_ha)| CropMoney { crop: crop.into(), price_per_t, yield_t_per_ha }).into(),
        cultivation_cost: [
            (Cultivation::Plough, 74.0),
            (Cultivation::Deep, 52.0),
            (Cultivation::Shallow, 31.0),
            (Cultivation::DirectDrill, 0.0),
        ]
        .into(),
        spray_off_per_ha: Some(24.0),
        pulled_per_hour: Some(180.0),
        hour_cost: Some(16.0),
        ..OutlookSettings::default()
    }
}

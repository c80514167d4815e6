//! What the user of the sample farm thinks of doing in the coming years, with prices and costs: all made up, in a usual range.

use awn_core::model::{CropMoney, Cultivation, OutlookSettings, Record, Records, Scenario, ScenarioId, ScenarioYear};
use awn_core::project::Edit;

/// Crop, cultivation, day of drilling, programme.
type Row = (&'static str, Cultivation, &'static str, &'static str);

const TOP_UP: &str = "Wheat with spring top-up";
const STACK: &str = "Wheat, autumn stack";
const RAPE: &str = "Rape";
const BARLEY: &str = "Spring barley";

const AS_NOW: &[Row] = &[
    ("winter wheat", Cultivation::Deep, "09-28", TOP_UP),
    ("winter wheat", Cultivation::Deep, "09-28", TOP_UP),
    ("winter oilseed rape", Cultivation::Deep, "08-20", RAPE),
];
const LATER: &[Row] = &[
    ("winter wheat", Cultivation::Shallow, "10-18", STACK),
    ("winter wheat", Cultivation::Shallow, "10-18", STACK),
    ("winter oilseed rape", Cultivation::Deep, "08-20", RAPE),
];
const SPRING: &[Row] = &[
    ("spring barley", Cultivation::Plough, "03-12", BARLEY),
    ("spring barley", Cultivation::Shallow, "03-12", BARLEY),
    ("winter wheat", Cultivation::Shallow, "10-14", STACK),
    ("winter wheat", Cultivation::Shallow, "10-14", STACK),
];
const PLOUGH_ONCE: &[Row] = &[
    ("winter wheat", Cultivation::Plough, "10-05", TOP_UP),
    ("winter wheat", Cultivation::Shallow, "10-05", TOP_UP),
    ("spring barley", Cultivation::Shallow, "03-12", BARLEY),
    ("winter wheat", Cultivation::Shallow, "10-05", TOP_UP),
    ("winter oilseed rape", Cultivation::Shallow, "08-20", RAPE),
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
        let years = rows.iter().map(|(crop, cultivation, drilled, programme)| ScenarioYear {
            crop: (*crop).to_owned(),
            cultivation: *cultivation,
            drilled: Some((*drilled).to_owned()),
            programme: Some((*programme).to_owned()),
            competitive: name == "Drill later" && *crop == "winter wheat",
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
    let crops = [
        ("winter wheat", 182.0, 8.6),
        ("winter oilseed rape", 395.0, 3.4),
        ("spring barley", 168.0, 6.1),
        ("winter beans", 224.0, 4.0),
    ];
    OutlookSettings {
        crops: crops
            .map(|(crop, price_per_t, yield_t_per_ha)| CropMoney { crop: crop.into(), price_per_t, yield_t_per_ha })
            .into(),
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

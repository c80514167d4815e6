//! The coming years of many fields, beside the same model in numpy with all draws and parts of a field in one array.

use awn_core::act::outlook::scenario::{Ready, ready};
use awn_core::act::outlook::start::{Part, Start};
use awn_core::act::outlook::{Key, OutlookField, OutlookRequest, Parameters, outlook};
use awn_core::model::{
    Cultivation, DensityUnit, FieldId, LowLikelyHigh, OutlookSettings, Scenario, ScenarioId, ScenarioYear,
};
use awn_core::problem::Problems;
use awn_core::progress::Quiet;
use serde_json::json;

use crate::{line, on_threads, reference, timed};

const FIELDS: usize = 400;
const SCENARIOS: usize = 4;

fn scenario(number: usize) -> Ready {
    let year = |index: usize| ScenarioYear {
        crop: "winter wheat".into(),
        cultivation: Cultivation::ALL[(number + index) % 4],
        drilled: Some("10-08".into()),
        control: LowLikelyHigh::new(80.0, 92.0, 97.0),
        competitive: number.is_multiple_of(2),
        ..ScenarioYear::default()
    };
    let name = format!("scenario {number}");
    let scenario = Scenario { id: ScenarioId::new(), name, note: String::new(), years: (0..3).map(year).collect() };
    ready(&scenario, &mut Problems::new()).expect("a sound scenario")
}

/// 400 fields of five parts, four scenarios, 1000 draws, ten years, two cores; numpy for a tenth of the fields.
pub fn outlooks() {
    let parts: Vec<Part> = [0.02, 0.05, 0.13, 0.3, 0.5].map(|share| Part { share, density: 2.0 / share }).to_vec();
    let fields: Vec<OutlookField> = (0..FIELDS)
        .map(|number| OutlookField {
            field: FieldId::new(),
            name: format!("Farm/Field {number}"),
            start: Start { unit: DensityUnit::HeadsPerM2, parts: parts.clone(), source: String::new(), notes: Vec::new() },
            scenarios: Vec::new(),
        })
        .collect();
    let scenarios: Vec<Ready> = (0..SCENARIOS).map(scenario).collect();
    let (settings, parameters) = (OutlookSettings::default(), Parameters::default());
    let request = OutlookRequest {
        first_harvest: 2027,
        years: 10,
        settings: &settings,
        parameters: &parameters,
        scenarios: &scenarios,
    };
    let (ours, found) = on_threads(2, || timed(1, || outlook(&fields, &request, &Quiet).expect("sound")));
    let ranges: serde_json::Map<String, serde_json::Value> = Key::ALL
        .iter()
        .map(|key| {
            (
                key.word().to_owned(),
                json!([parameters.range(*key).low, parameters.range(*key).likely, parameters.range(*key).high]),
            )
        })
        .collect();
    let theirs = reference::run(
        "speed",
        &json!({
            "task": "outlook", "fields": FIELDS / 10, "scenarios": SCENARIOS, "draws": 1000, "years": 10,
            "shares": parts.iter().map(|part| part.share).collect::<Vec<_>>(),
            "heads": parts.iter().map(|part| part.density).collect::<Vec<_>>(), "ranges": ranges,
        }),
    );
    let seconds = 10.0 * theirs["seconds"].as_f64().expect("seconds");
    let last = found[0].scenarios[0].years[9].heads.median;
    let remark =
        format!("numpy: 40 fields times ten, without the search for control that holds; ours ends at {last:.0} heads/m2");
    line("outlook, 400 fields, 4 scenarios, 1000 draws, 10 years", ours, "numpy", seconds, 1.0, &remark);
}

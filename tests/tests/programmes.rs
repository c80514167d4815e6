//! Programmes in fields: control left and money at risk against scipy, against the published forms, and whatever is put in.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // helpers of tests stop where something is wrong

use std::collections::BTreeSet;

use awn_core::act::{self, FieldCheck, Tested};
use awn_core::model::{
    Assay, AssayKind, Control, Farm, FarmId, Field, FieldProgramme, FieldProgrammeId, Programme, ProgrammeId, ProgrammeStep,
    Record, Records, Sample, SampleId, Standard, StandardId, StandardRole, TestResult, mode_of_action,
};
use awn_tests::reference;
use geo::{Coord, LineString, MultiPolygon, Polygon};
use proptest::prelude::*;
use serde_json::{Value, json};

const YEAR: i32 = 2027;

/// A test of one active: reduction and standard, each with a standard error if known.
type Test<'a> = (&'a str, i32, [f64; 2], [Option<f64>; 2]);

/// A field of one hectare or so with tests.
fn land(tests: &[Test<'_>]) -> (Records, Field) {
    let mut records = Records::default();
    let farm = Farm { id: FarmId::new(), business: String::new(), name: "Hill Farm".into() };
    let at = |x: f64, y: f64| Coord { x: 0.1 + x * 0.0015, y: 52.0 + y * 0.0009 };
    let ring = LineString(vec![at(0.0, 0.0), at(1.0, 0.0), at(1.0, 1.0), at(0.0, 1.0), at(0.0, 0.0)]);
    let field = Field::new(farm.id, "Long Acre", MultiPolygon(vec![Polygon::new(ring, vec![])]));
    let sample = Sample::new("LA-1", field.id, YEAR - 2);
    for (active, year, [reduction, standard], [se, standard_se]) in tests {
        let sample = Sample { id: SampleId::new(), code: format!("{active} {year}"), year: *year, ..sample.clone() };
        let assay = Assay::of(AssayKind::Pot, *year, "");
        let group = mode_of_action(active).unwrap().group;
        let plain = TestResult::printed(sample.id, assay.id, active, group, *reduction, Some(*standard));
        records.put(Record::Standard(Standard {
            id: StandardId::new(),
            assay: assay.id,
            name: "S".into(),
            role: StandardRole::Susceptible,
            active: (*active).into(),
            dose: None,
            measure: None,
            reduction: *standard,
            se: *standard_se,
            n: None,
            raw: None,
        }));
        records.put(Record::Assay(assay));
        records.put(Record::Sample(sample));
        records.put(Record::Result(TestResult { se: *se, ..plain }));
    }
    records.put(Record::Farm(farm));
    records.put(Record::Field(field.clone()));
    (records, field)
}

fn step(active: &str, control: [f64; 3], cost: f64) -> ProgrammeStep {
    ProgrammeStep {
        timing: "once".into(),
        active: active.into(),
        dose_g_per_ha: None,
        control: Control::new(control[0], control[1], control[2]).unwrap(),
        cost_per_ha: cost,
    }
}

fn programme(steps: Vec<ProgrammeStep>) -> Programme {
    Programme { id: ProgrammeId::new(), name: "Wheat".into(), crop: String::new(), steps, note: String::new() }
}

fn check(records: &Records, field: &Field, steps: Vec<ProgrammeStep>) -> FieldCheck {
    let ratings = awn_core::rating::field_ratings(records, YEAR);
    act::check_field(records, field, &programme(steps), &[], &ratings[&field.id], YEAR)
}

/// Fixed programmes with fixed tests: three steps, one of them of two modes of action, one not tested.
fn cases() -> Vec<(Vec<Test<'static>>, Vec<ProgrammeStep>)> {
    let tests = vec![
        ("mesosulfuron+iodosulfuron", 2025, [41.5, 93.0], [Some(6.0), Some(2.0)]),
        ("flufenacet", 2025, [78.0, 90.0], [Some(4.0), None]),
        ("pendimethalin", 2024, [55.0, 88.0], [None, None]),
        ("diflufenican", 2024, [88.0, 91.0], [Some(3.0), Some(3.0)]),
    ];
    vec![
        (tests.clone(), vec![step("mesosulfuron+iodosulfuron", [75.0, 88.0, 95.0], 36.0)]),
        (
            tests.clone(),
            vec![
                step("glyphosate", [40.0, 55.0, 65.0], 9.5),
                step("flufenacet+diflufenican", [60.0, 72.0, 82.0], 30.5),
                step("pendimethalin", [35.0, 50.0, 62.0], 21.0),
                step("mesosulfuron+iodosulfuron", [75.0, 88.0, 95.0], 36.0),
            ],
        ),
        (tests, vec![step("pendimethalin", [50.0, 50.0, 50.0], 21.0), step("flufenacet", [0.0, 100.0, 100.0], 24.0)]),
    ]
}

fn asked(tests: &[Test<'_>], steps: &[ProgrammeStep]) -> Value {
    let part = |(active, _): (String, String)| {
        let found = tests.iter().find(|test| test.0 == active);
        found.map_or(Value::Null, |(_, _, [sample, standard], [se, standard_se])| {
            json!({ "sample": [sample, se], "standard": [standard, standard_se] })
        })
    };
    let steps: Vec<Value> = steps
        .iter()
        .map(|step| {
            let Control { low, likely, high } = step.control;
            let parts: Vec<Value> = step.parts().into_iter().map(part).collect();
            json!({ "control": [low, likely, high], "cost": step.cost_per_ha, "parts": parts })
        })
        .collect();
    json!({ "steps": steps })
}

#[test]
fn programmes_agree_with_scipy() {
    let cases = cases();
    let input: Vec<Value> = cases.iter().map(|(tests, steps)| asked(tests, steps)).collect();
    let found = reference::run("programmes", &json!({ "cases": input }));
    for ((tests, steps), theirs) in cases.into_iter().zip(found["cases"].as_array().unwrap()) {
        let (records, field) = land(&tests);
        let ours = check(&records, &field, steps);
        let number = |value: &Value| value.as_f64().unwrap();
        // From the likely figures: the same arithmetic.
        assert!((ours.control.likely - number(&theirs["control"])).abs() < 1e-9, "{} {theirs}", ours.control.likely);
        assert!((ours.at_risk_per_ha.likely - number(&theirs["lost"])).abs() < 1e-9);
        // The likely figure always lies in the band, though it may not lie between the points of a skewed triangle.
        let (low, high) =
            (|value: &Value, likely: f64| number(value).min(likely), |value: &Value, likely: f64| number(value).max(likely));
        // Bands: 512 stratified draws beside 200,000; half a point of control and 1 % of the money is what that allows. The low end
        // of control counts untested steps as nothing, so it is compared where all was tested.
        let mut pairs = vec![
            (ours.control.high, high(&theirs["control_band"][1], ours.control.likely), 0.6),
            (ours.at_risk_per_ha.low, low(&theirs["lost_band"][0], ours.at_risk_per_ha.likely), 0.6),
            (ours.at_risk_per_ha.high, high(&theirs["lost_band"][1], ours.at_risk_per_ha.likely), 0.6),
        ];
        if ours.tested == Tested::All {
            pairs.push((ours.control.low, low(&theirs["control_band"][0], ours.control.likely), 0.8));
        }
        for (ours, theirs, tolerance) in pairs {
            println!("{ours:.2} beside {theirs:.2}");
            assert!((ours - theirs).abs() < tolerance, "{ours} beside {theirs}");
        }
    }
}

#[test]
fn each_active_is_read_from_its_own_test_or_its_modes_and_never_invented() {
    let (records, field) = land(&[
        ("fenoxaprop", 2019, [20.0, 90.0], [None, None]),
        ("cycloxydim", 2025, [85.0, 90.0], [None, None]),
        ("iodosulfuron+mesosulfuron", 2025, [45.0, 90.0], [None, None]),
    ]);
    let steps = vec![
        step("fenoxaprop", [90.0; 3], 20.0),
        step("pinoxaden", [90.0; 3], 30.0),
        step("mesosulfuron+iodosulfuron", [90.0; 3], 40.0),
        step("prosulfocarb", [40.0; 3], 10.0),
    ];
    let found = check(&records, &field, steps);
    let [fop, den, als, untested] = &found.steps[..] else { panic!("{found:?}") };
    assert!((fop.control.likely - 90.0 * 20.0 / 90.0).abs() < 1e-9, "its own test, however old");
    assert!(fop.known[0].old && fop.known[0].age == Some(8) && fop.known[0].said().contains("which is old"));
    // Pinoxaden was not tested: the latest test of its mode of action speaks, and the page says which.
    assert!((den.control.likely - 85.0).abs() < 1e-9 && den.known[0].said().contains("read from cycloxydim"), "{den:?}");
    assert!((als.control.likely - 45.0).abs() < 1e-9, "the order in a mixture does not matter");
    assert_eq!((untested.tested, untested.control.low, untested.control.high), (Tested::None, 0.0, 40.0));
    assert!((found.untested_per_ha - 10.0).abs() < 1e-9 && found.tested == Tested::Partly);
    let at_risk = 20.0 * (1.0 - 20.0 / 90.0) + 30.0 * (1.0 - 85.0 / 90.0) + 40.0 * 0.5;
    assert!((found.at_risk_per_ha.likely - at_risk).abs() < 1e-9);
    assert!(
        (found.resisted_per_ha - 60.0).abs() < 1e-9,
        "RRR and RR; pinoxaden is S by its mode: {}",
        found.resisted_per_ha
    );
    assert!(found.without_untested.likely < found.control.likely);
    let text: Vec<String> = act::sentences(&found, None, "£").into_iter().map(|sentence| sentence.text).collect();
    let text = text.join("\n");
    for said in
        ["£100 a hectare", "Resistance is confirmed against fenoxaprop (ACCase, RRR)", "Not tested here: prosulfocarb"]
    {
        assert!(text.contains(said), "{said}: {text}");
    }
}

#[test]
fn a_field_without_tests_is_never_called_good() {
    let (records, field) = land(&[]);
    let found = check(&records, &field, vec![step("flufenacet", [60.0, 72.0, 82.0], 24.0)]);
    assert_eq!((found.tested, found.control.low, found.at_risk_per_ha.likely), (Tested::None, 0.0, 0.0));
    assert!(act::sentences(&found, None, "£").iter().any(|said| said.text.contains("nothing is known")), "{found:?}");
}

#[test]
fn farms_add_up_and_are_ranked() {
    let (mut records, field) = land(&[("flufenacet", 2025, [45.0, 90.0], [None, None])]);
    let plain = programme(vec![step("flufenacet", [80.0; 3], 24.0)]);
    let mut other = field.clone();
    other.id = awn_core::model::FieldId::new();
    other.name = "Pit Close".into();
    records.put(Record::Field(other.clone()));
    records.put(Record::Programme(plain.clone()));
    for field in [field.id, other.id] {
        records.put(Record::FieldProgramme(FieldProgramme {
            id: FieldProgrammeId::new(),
            field,
            year: YEAR,
            programme: Some(plain.id),
            measures: vec!["plough".into()],
        }));
    }
    let checks = act::check(&records, YEAR, None, None);
    let ha = field.area_m2() / 10_000.0;
    assert_eq!(checks.fields.iter().map(|check| check.field).collect::<Vec<_>>(), [field.id, other.id]);
    assert!((checks.all.cost - 2.0 * 24.0 * ha).abs() < 1e-6 && (checks.all.at_risk.likely - 12.0 * ha).abs() < 1e-6);
    assert!((checks.all.untested - 24.0 * ha).abs() < 1e-6, "the other field was never tested");
    // Ploughing: 100 heads, 60 left by the programme (80 % x half), times 0.31 by the published mean.
    let [least, mean, most] = checks.fields[0].heads_left().unwrap();
    assert!((mean - 60.0 * 0.31).abs() < 1e-9 && least < mean && mean < most, "{least} {mean} {most}");
    assert_eq!(act::check(&records, YEAR + 1, None, None).without.len(), 2);
    let only = BTreeSet::from([other.id]);
    assert_eq!(act::check(&records, YEAR + 1, Some(&plain), Some(&only)).fields.len(), 1);
}

proptest! {
    #[test]
    fn more_control_never_leaves_more(
        controls in prop::collection::vec((0.0..100.0_f64, 0.0..100.0_f64, 0.0..100.0_f64), 1..5),
        which in 0..5_usize,
        up in 0.0..1.0_f64,
    ) {
        let (records, field) = land(&[
            ("flufenacet", 2025, [60.0, 90.0], [Some(6.0), Some(3.0)]),
            ("cycloxydim", 2025, [30.0, 90.0], [Some(5.0), None]),
        ]);
        let actives = ["flufenacet", "cycloxydim", "glyphosate", "propyzamide"];
        let steps = |raised: Option<usize>| -> Vec<ProgrammeStep> {
            controls.iter().zip(actives).enumerate().map(|(at, ((a, b, c), active))| {
                let mut sorted = [*a, *b, *c];
                sorted.sort_by(f64::total_cmp);
                if raised == Some(at) {
                    sorted = sorted.map(|value| value + up * (100.0 - value));
                }
                step(active, sorted, 10.0)
            }).collect()
        };
        let before = check(&records, &field, steps(None));
        let after = check(&records, &field, steps(Some(which % controls.len())));
        for (before, after) in [
            (before.control.low, after.control.low),
            (before.control.likely, after.control.likely),
            (before.control.high, after.control.high),
            (before.without_untested.likely, after.without_untested.likely),
        ] {
            prop_assert!(after >= before - 1e-9, "{before} {after}");
        }
        prop_assert_eq!(before.at_risk_per_ha.likely, after.at_risk_per_ha.likely);
        for range in [before.control, after.control, before.if_susceptible] {
            prop_assert!(0.0 <= range.low && range.low <= range.likely && range.likely <= range.high && range.high <= 100.0);
        }
    }

    #[test]
    fn the_order_of_steps_does_not_matter(seed in 0..24_usize) {
        let (tests, steps) = cases().swap_remove(1);
        let (records, field) = land(&tests);
        let mut shuffled = steps.clone();
        let (mut rest, mut seed) = (shuffled.len(), seed);
        while rest > 1 {
            shuffled.swap(rest - 1, seed % rest);
            seed /= rest;
            rest -= 1;
        }
        let (one, other) = (check(&records, &field, steps), check(&records, &field, shuffled));
        prop_assert_eq!(one.control, other.control);
        prop_assert_eq!(one.at_risk_per_ha, other.at_risk_per_ha);
    }

    #[test]
    fn scaling_both_reductions_changes_nothing(by in 0.2..1.0_f64) {
        let scaled = |by: f64| {
            let (records, field) = land(&[("flufenacet", 2025, [60.0 * by, 90.0 * by], [Some(6.0 * by), Some(3.0 * by)])]);
            check(&records, &field, vec![step("flufenacet", [60.0, 72.0, 82.0], 24.0)])
        };
        let (one, other) = (scaled(1.0), scaled(by));
        for (a, b) in [
            (one.control.low, other.control.low),
            (one.control.likely, other.control.likely),
            (one.control.high, other.control.high),
            (one.at_risk_per_ha.likely, other.at_risk_per_ha.likely),
        ] {
            prop_assert!((a - b).abs() < 1e-9, "{a} {b}");
        }
    }
}

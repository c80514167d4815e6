//! Samples on their way: codes, stages, dates that cannot be, results that come in.

#![allow(clippy::unwrap_used, clippy::panic)] // helpers of tests stop where something is wrong

mod support;

use awn_core::exchange;
use awn_core::model::{
    AssayKind, Field, FieldId, PlanSettings, Record, Records, RipeCheck, RipeCheckId, Sample, SampleId, Stage,
};
use awn_core::problem::Problems;
use awn_core::progress::Quiet;
use awn_core::project::{Edit, Project};
use awn_core::samples::{
    Details, Move, Verdict, book, change, check, check_letter, judge, move_on, plan_samples, reminders, stage_of, step_back,
};
use awn_core::stops::propose;
use jiff::civil::{Date, date};
use serde_json::json;
use support::{Folder, error_at, project};

const YEAR: i32 = 2027;

fn to(stage: Stage, on: Date) -> Move {
    Move { stage, date: on, person: "Bo".into(), note: String::new(), details: Details::default() }
}

/// The project with one planned sample in each of the two fields of Hill Farm.
fn planned() -> (Project, Vec<SampleId>) {
    let mut project = project();
    let fields: Vec<FieldId> = project.records().fields.keys().copied().take(2).collect();
    let mut problems = Problems::new();
    let made = plan_samples(project.records(), &fields, YEAR, Some(date(2027, 6, 20)), "Bo", &mut problems);
    assert!(!problems.has_errors());
    project.apply(made.command).unwrap();
    (project, made.samples.iter().map(|sample| sample.id).collect())
}

fn moved(project: &mut Project, ids: &[SampleId], to: &Move) -> Problems {
    let mut problems = Problems::new();
    if let Some(command) = move_on(project.records(), ids, to, Some(date(2027, 12, 1)), &mut problems) {
        project.apply(command).unwrap();
    }
    problems
}

#[test]
fn check_letters_are_those_of_the_reference_library() {
    let (project, _) = planned();
    let farms = ["SAL", "HIL", "AWN", "XY", "ABCD"];
    let bodies: Vec<String> =
        farms.iter().flat_map(|farm| (0..200).map(move |n| format!("{farm}{}{:03}", 20 + n % 60, n * 4 + 1))).collect();
    let theirs = awn_tests::reference::run("codes", &json!({ "codes": bodies }));
    for (body, letter) in bodies.iter().zip(theirs.as_array().unwrap()) {
        assert_eq!(check_letter(body).to_string(), letter.as_str().unwrap(), "{body}, by python-stdnum");
    }
    for sample in project.records().samples.values() {
        assert_eq!(judge(&sample.code), Verdict::Right, "{}", sample.code);
        assert!(sample.code.starts_with("HIL27-"), "{}", sample.code);
    }
}

#[test]
fn samples_go_from_plan_to_result_and_keep_every_step() {
    let (mut project, ids) = planned();
    let first = project.records().samples[&ids[0]].clone();
    assert_eq!(first.tests, [AssayKind::Petri, AssayKind::Pot]);
    let steps = [
        (Stage::Collected, date(2027, 7, 14)),
        (Stage::Dried, date(2027, 7, 21)),
        (Stage::Sealed, date(2027, 7, 22)),
        (Stage::Posted, date(2027, 7, 22)),
        (Stage::Received, date(2027, 7, 24)),
    ];
    for (stage, on) in steps {
        let problems = moved(&mut project, &ids, &to(stage, on));
        assert!(problems.list.is_empty(), "{problems:?}");
    }
    let lines = book(project.records(), YEAR, Some(date(2027, 8, 20)));
    assert!(lines.iter().all(|line| line.status.stage == Stage::Received && !line.status.is_late()));
    // In by early August: dish tests about the end of September, pots about the end of October (trade notices of 1998 and 2001).
    let expected: Vec<_> = lines[0].status.expected.iter().map(|e| (e.assay, e.about)).collect();
    assert_eq!(expected, [(AssayKind::Petri, date(2027, 9, 30)), (AssayKind::Pot, date(2027, 10, 31))]);
    assert!(book(project.records(), YEAR, Some(date(2027, 10, 1))).iter().all(|line| line.status.late_days == 1));

    // Dish results come: received still, as the pots are awaited. Pot results come: reported.
    let folder = Folder::new();
    for (assay, stage) in [("petri", Stage::Received), ("pot", Stage::Reported)] {
        let text = format!(
            "sample,year,assay,active,reduction_percent,standard_percent,date\n{},2027,{assay},cycloxydim,80,90,2027-10-20\n",
            first.code
        );
        let file = folder.write(&format!("{assay}.csv"), text);
        let mut problems = Problems::new();
        let import = exchange::results(project.records(), &file, &[], &mut problems, &Quiet).unwrap();
        project.apply(import.command).unwrap();
        let sample = &project.records().samples[&ids[0]];
        assert_eq!(stage_of(project.records(), sample), stage, "{problems:?}");
    }
    let sample = &project.records().samples[&ids[0]];
    let stages: Vec<Stage> = sample.events.iter().map(|event| event.stage).collect();
    let all: Vec<Stage> =
        [Stage::Planned].into_iter().chain(steps.iter().map(|(stage, _)| *stage)).chain([Stage::Reported]).collect();
    assert_eq!(stages, all);
    assert_eq!(sample.last_event().unwrap().date, Some(date(2027, 10, 20)));
    assert_eq!(stage_of(project.records(), &project.records().samples[&ids[1]]), Stage::Received);
    // Undo takes the result and the stage back together.
    project.undo().unwrap();
    assert_eq!(stage_of(project.records(), &project.records().samples[&ids[0]]), Stage::Received);
}

#[test]
fn steps_that_cannot_be_are_said_and_move_nothing() {
    let (mut project, ids) = planned();
    moved(&mut project, &ids[..1], &to(Stage::Collected, date(2027, 7, 14)));
    let before = project.records().clone();
    for (to, what) in [
        (to(Stage::Dried, date(2027, 7, 10)), "is before 14 July 2027"),
        (to(Stage::Collected, date(2027, 7, 16)), "collected already"),
        (to(Stage::Posted, date(2029, 1, 2)), "does not go with harvest 2027"),
        (to(Stage::Withdrawn, date(2027, 7, 20)), "needs a reason"),
        (
            Move {
                details: Details { shed_percent: Some(140.0), ..Details::default() },
                ..to(Stage::Dried, date(2027, 7, 21))
            },
            "cannot be so much",
        ),
    ] {
        let problems = moved(&mut project, &ids[..1], &to);
        assert!(
            problems.errors().any(|problem| problem.what.contains(what) && !problem.hint.is_empty()),
            "{what}: {problems:?}"
        );
        assert_eq!(project.records(), &before);
    }
    // One that cannot be moved keeps all from being moved.
    let problems = moved(&mut project, &ids, &to(Stage::Collected, date(2027, 7, 14)));
    assert!(problems.has_errors() && project.records() == &before);
    // The wrong year is an error, out of season a warning.
    let problems = moved(&mut project, &ids[1..], &to(Stage::Collected, date(2026, 7, 14)));
    assert!(problems.errors().any(|problem| problem.what.contains("cannot be taken on 14 July 2026")), "{problems:?}");
    let problems = moved(&mut project, &ids[1..], &to(Stage::Collected, date(2027, 11, 3)));
    assert!(!problems.has_errors() && problems.list.iter().any(|p| p.what.contains("out of season")), "{problems:?}");
    // Steps that were skipped are named.
    let problems = moved(&mut project, &ids[1..], &to(Stage::Posted, date(2027, 11, 4)));
    assert!(problems.list.iter().any(|p| p.what.contains("dried, sealed")), "{problems:?}");
}

#[test]
fn every_step_has_its_day_and_person_and_what_is_taken_back_stays_in_the_history() {
    let (mut project, ids) = planned();
    let nobody = Move { person: "  ".into(), ..to(Stage::Collected, date(2027, 7, 14)) };
    let before = project.records().clone();
    let problems = moved(&mut project, &ids, &nobody);
    assert!(error_at(&problems, "who did it").hint.contains("name") && project.records() == &before);
    moved(&mut project, &ids[..1], &to(Stage::Collected, date(2027, 7, 14)));
    let sample = project.records().samples[&ids[0]].clone();
    assert!(sample.events.iter().all(|event| event.date.is_some() && event.person == "Bo"), "{:?}", sample.events);
    let command = step_back(project.records(), &ids[..1], &mut Problems::new()).unwrap();
    project.apply(command).unwrap();
    let renamed = Sample { code: "HIL-77".into(), ..(*project.records().samples[&ids[0]]).clone() };
    let command = change(project.records(), &renamed, &mut Problems::new()).unwrap();
    project.apply(command).unwrap();
    let names: Vec<&str> = project.history().iter().map(|step| step.name.as_str()).collect();
    for name in [
        format!("Mark {} collected", sample.code),
        format!("Take back “collected 14 July 2027” of {}", sample.code),
        format!("Change sample {} to HIL-77", sample.code),
    ] {
        assert!(names.contains(&name.as_str()), "{name} in {names:?}");
    }
}

#[test]
fn weed_and_last_day_of_an_envelope_are_those_of_its_field() {
    let mut project = project();
    let fields: Vec<FieldId> = project.records().fields.keys().copied().take(3).collect();
    let plan = |records: &Records| plan_samples(records, &fields, YEAR, None, "Bo", &mut Problems::new());
    let mut settings = project.records().settings.clone();
    settings.season.species.insert(0, "LOLMU".into());
    settings.season.shift_days.insert(YEAR, 4);
    let check = |species: &str, shed_percent| RipeCheck {
        id: RipeCheckId::new(),
        field: fields[1],
        date: date(2027, 7, 6),
        species: species.into(),
        shed_percent,
        who: String::new(),
    };
    let mut edit = Edit::new(project.records(), "Set up");
    edit.put(Record::Settings(settings));
    edit.put(Record::RipeCheck(check("AVEFA", 20.0)));
    let command = edit.done();
    project.apply(command).unwrap();
    let made = plan(project.records());
    project.apply(made.command).unwrap();
    let lines = book(project.records(), YEAR, None);
    let of = |field: FieldId| lines.iter().find(|line| line.sample.field == field).unwrap();
    let weeds: Vec<&str> = fields.iter().map(|field| of(*field).sample.species.as_str()).collect();
    assert_eq!(weeds, ["LOLMU", "AVEFA", "LOLMU"]);
    // Italian rye-grass: early to mid July (trade notices of July 1999 and June 2001: 1 to 15 July), four days late this year.
    assert_eq!(of(fields[0]).status.by, Some(date(2027, 7, 19)));
    // Wild-oats would be ripe in the second half of July; a fifth had fallen on the 6th already.
    assert!(of(fields[1]).status.by < Some(date(2027, 7, 25)), "{:?}", of(fields[1]).status.by);
    // Out of season is judged by the weed: seed of barren brome on 5 June is not, that of wild-oats is.
    let taken = Sample { species: "BROST".into(), ..(*of(fields[0]).sample).clone() };
    let mut edit = Edit::new(project.records(), "Change the weed");
    edit.put(Record::Sample(taken));
    let command = edit.done();
    project.apply(command).unwrap();
    for (field, out) in [(fields[0], false), (fields[1], true)] {
        let id = book(project.records(), YEAR, None).iter().find(|line| line.sample.field == field).unwrap().sample.id;
        let mut problems = Problems::new();
        move_on(project.records(), &[id], &to(Stage::Collected, date(2027, 6, 5)), None, &mut problems);
        assert_eq!(problems.list.iter().any(|problem| problem.what.contains("out of season")), out, "{problems:?}");
    }
}

#[test]
fn nothing_is_lost_without_trace() {
    let (mut project, ids) = planned();
    moved(&mut project, &ids[..1], &to(Stage::Collected, date(2027, 7, 14)));
    moved(&mut project, &ids[..1], &to(Stage::Lost, date(2027, 7, 16)));
    let problems = moved(&mut project, &ids[..1], &to(Stage::Dried, date(2027, 7, 21)));
    assert!(problems.list.iter().any(|p| p.what.contains("found again")) && !problems.has_errors());
    let withdrawn = Move { note: "mixed with another".into(), ..to(Stage::Withdrawn, date(2027, 7, 22)) };
    moved(&mut project, &ids[..1], &withdrawn);
    let problems = moved(&mut project, &ids[..1], &to(Stage::Posted, date(2027, 7, 23)));
    assert!(error_at(&problems, "sample").hint.contains("plan a new sample"));
    let events = &project.records().samples[&ids[0]].events;
    assert_eq!(events.len(), 5);
    assert_eq!(events[4].note, "mixed with another");
    // A new sample of the field gets a new code; the old one keeps its own.
    let field = project.records().samples[&ids[0]].field;
    let made = plan_samples(project.records(), &[field], YEAR, None, "", &mut Problems::new());
    assert_eq!((made.samples.len(), made.there), (1, 0));
    assert!(project.records().sample_coded(&made.samples[0].code).is_none());
    project.apply(made.command).unwrap();
    // Taking steps back goes as far as the plan, and no further.
    for _ in 0..4 {
        let command = step_back(project.records(), &ids[..1], &mut Problems::new()).unwrap();
        project.apply(command).unwrap();
    }
    let sample = project.records().samples[&ids[0]].clone();
    assert_eq!((stage_of(project.records(), &sample), sample.taken), (Stage::Planned, None));
    let mut problems = Problems::new();
    assert!(step_back(project.records(), &ids[..1], &mut problems).is_none());
    assert!(error_at(&problems, "sample").hint.contains("Withdraw it"));
}

#[test]
fn one_sample_for_each_envelope_of_the_plan_and_none_for_fields_of_other_years() {
    let (mut project, ids) = planned();
    let field = project.records().samples[&ids[0]].field;
    // Fields that have their sample get no second.
    let again = plan_samples(project.records(), &[field], YEAR, None, "", &mut Problems::new());
    assert_eq!((again.samples.len(), again.there), (0, 1));
    let other = *project.records().fields.keys().nth(2).unwrap();
    let mut plan =
        propose(project.records(), other, YEAR, &PlanSettings { stops: 4, ..PlanSettings::default() }, &Quiet).unwrap();
    for (at, stop) in plan.stops.iter_mut().enumerate() {
        stop.unit = 1 + at % 2;
    }
    let later = Field { from_year: Some(2028), ..(*project.records().fields[&field]).clone() };
    let mut edit = Edit::new(project.records(), "Set up");
    edit.put(Record::Plan(plan));
    edit.put(Record::Field(later));
    let command = edit.done();
    project.apply(command).unwrap();
    let made = plan_samples(project.records(), &[other], YEAR, None, "", &mut Problems::new());
    assert_eq!(made.samples.iter().map(|sample| sample.unit).collect::<Vec<_>>(), [1, 2]);
    assert_ne!(made.samples[0].code, made.samples[1].code);
    let mut problems = Problems::new();
    let none = plan_samples(project.records(), &[field], YEAR, None, "", &mut problems);
    assert!(none.samples.is_empty() && error_at(&problems, "Hill Farm").what.contains("does not exist in harvest 2027"));
    // A sample of a field that did not exist yet is found by the check of the data, too.
    let mut problems = Problems::new();
    awn_core::project::check(project.records(), &mut problems);
    assert!(problems.list.iter().any(|p| p.what.contains("did not have this shape")), "{problems:?}");
}

#[test]
fn codes_are_unique_and_slips_are_noticed() {
    let (mut project, ids) = planned();
    let [one, other] = [0, 1].map(|at| (*project.records().samples[&ids[at]]).clone());
    let mut problems = Problems::new();
    assert!(change(project.records(), &Sample { code: other.code.to_lowercase(), ..one.clone() }, &mut problems).is_none());
    assert!(error_at(&problems, "sample").hint.contains("its own code"));
    // A laboratory's table with two characters swapped: told, and with the right one.
    let mut letters: Vec<char> = one.code.chars().collect();
    letters.swap(7, 8);
    let typed: String = letters.iter().collect();
    assert_eq!(judge(&typed), Verdict::Mistyped, "{typed}");
    let name = project.records().fields[&one.field].name.clone();
    let folder = Folder::new();
    let file = folder.write(
        "results.csv",
        format!(
            "sample,field,year,assay,active,reduction_percent,standard_percent\n{typed},Hill Farm/{name},2027,pot,cycloxydim,80,90\n"
        ),
    );
    let mut problems = Problems::new();
    let import = exchange::results(project.records(), &file, &[], &mut problems, &Quiet).unwrap();
    let told = problems.list.iter().find(|p| p.what.contains("does not fit")).unwrap_or_else(|| panic!("{problems:?}"));
    assert!(told.hint.contains(&one.code), "{told:?}");
    // Two samples of one code, as two merged files may have, are an error of the data.
    let twin = Sample { id: SampleId::new(), ..one.clone() };
    let mut edit = Edit::new(project.records(), "Merge");
    edit.put(Record::Sample(twin));
    let command = edit.done();
    project.apply(command).unwrap();
    drop(import);
    let mut problems = Problems::new();
    check(project.records(), &mut problems);
    assert!(error_at(&problems, &one.code).what.contains("two samples"), "{problems:?}");
}

#[test]
fn what_is_late_is_reminded_of() {
    let (mut project, ids) = planned();
    let at = |records: &Records, on| reminders(records, YEAR, Some(on)).into_iter().map(|r| r.text).collect::<Vec<_>>();
    // Before the second week of July nothing; then while seed is ripe, and at last that it was not taken.
    assert!(at(project.records(), date(2027, 7, 7)).is_empty());
    assert_eq!(
        at(project.records(), date(2027, 7, 20)),
        ["Seed of 2 planned samples of harvest 2027 is ripe now, of the first until about 21 July 2027"]
    );
    assert!(at(project.records(), date(2027, 7, 22))[0].starts_with("2 samples of harvest 2027 planned but not collected"));
    moved(&mut project, &ids, &to(Stage::Collected, date(2027, 7, 14)));
    assert!(at(project.records(), date(2027, 7, 21)).is_empty());
    assert_eq!(
        at(project.records(), date(2027, 7, 22)),
        ["2 samples of harvest 2027 collected but not posted, the oldest since 14 July 2027"]
    );
    moved(&mut project, &ids, &to(Stage::Posted, date(2027, 8, 20)));
    // Posted 13 days after early August: results come as much later.
    let lines = book(project.records(), YEAR, None);
    assert_eq!(lines[0].status.expected[0].about, date(2027, 10, 13));
    assert_eq!(at(project.records(), date(2027, 8, 28)), ["2 samples of harvest 2027 posted, and nobody says they came"]);
    moved(&mut project, &ids, &to(Stage::Received, date(2027, 8, 23)));
    let told = at(project.records(), date(2027, 10, 14));
    assert_eq!(told, ["Results of the dish test of 2 samples of harvest 2027 are not in"]);
    // The year after, they are still known.
    let told = reminders(project.records(), YEAR + 1, Some(date(2028, 7, 1)));
    assert_eq!(told.len(), 2);
}

//! `awn demo`: the whole main job, run on the sample farm.

use std::path::Path;

use anyhow::Context as _;
use awn_core::exchange::{self, Format, What};
use awn_core::model::RoundSettings;
use awn_core::problem::Problems;
use awn_core::progress::Quiet;
use awn_core::project::Project;
use awn_core::rating::RatingOf;
use awn_core::report::{CardSize, Colouring, Dress, MapRequest, Report, ReportRequest, label_sheets};
use awn_core::samples::plan_samples;
use awn_core::season;
use rayon::prelude::*;
use serde_json::json;

use super::answer::Answer;
use super::{act, plans, rate, rounds, season as due_list};
use crate::commands;
use crate::demo::write_sample_farm;

/// Writes the sample farm, proposes stops for every field that is due, and writes maps, GPX and tables into `dir`.
pub(super) fn run_whole_job(dir: &Path) -> anyhow::Result<Answer> {
    let path = write_sample_farm(dir, &Quiet)?;
    let mut project = Project::open(&path)?;
    let year = awn_sample_farm::SEASON;
    let records = project.records().clone();
    let due: Vec<_> = season::due(&records, year).into_iter().filter(|due| due.due).collect();
    let proposed: Result<Vec<_>, _> = due
        .par_iter()
        .map(|due| awn_core::stops::propose(&records, due.field, year, &records.settings.plan, &Quiet))
        .collect();
    let planned = proposed?;
    project.apply(commands::keep_plans(&records, &planned))?;
    let fields = commands::fields_planned(project.records(), year);
    let samples =
        plan_samples(project.records(), &fields, year, commands::today(), awn_sample_farm::PLANNER, &mut Problems::new());
    project.apply(samples.command)?;

    let base = awn_sample_farm::BASE;
    let (from, to) = (jiff::civil::date(year as i16, 7, 5), jiff::civil::date(year as i16, 7, 30));
    let wish = RoundSettings { from, to, base, people: 2, cleanest_first: true, ..RoundSettings::default() };
    let worked = season::rounds(project.records(), year, &wish, &Quiet)?;
    let command = commands::keep_rounds(project.records(), &worked);
    project.apply(command)?;

    let records = project.records();
    let mut written = vec![path];
    let mut keep = |name: &str, bytes: &[u8]| -> anyhow::Result<()> {
        commands::write(&dir.join(name), bytes)?;
        written.push(dir.join(name));
        Ok(())
    };
    let colourings = [
        ("rating", Colouring::Rating),
        ("age", Colouring::Age),
        ("density", Colouring::Density),
        ("due", Colouring::Due),
        ("money-at-risk", Colouring::AtRisk),
    ];
    for (name, colouring) in colourings {
        let request =
            MapRequest { colouring, of: RatingOf::Worst, year, fields: None, title: String::new(), size_mm: (297.0, 210.0) };
        let file = format!("map-{name}.png");
        keep(&file, &commands::drawing(records, &request, &Dress::default(), Path::new(&file), 150.0)?.0)?;
    }
    let report = ReportRequest::new(year, commands::today().unwrap_or_default());
    keep("report.pdf", &Report::make(records, &report, &Quiet)?.pdf()?.0)?;
    for (name, what, format) in [
        ("stops.gpx", What::Stops, Format::Gpx),
        ("walks.gpx", What::Walks, Format::Gpx),
        ("fields.csv", What::Fields, Format::Csv),
        ("results.csv", What::Results, Format::Csv),
    ] {
        keep(name, &exchange::export(records, year, what, format).map_err(|error| anyhow::anyhow!(error))?)?;
    }
    keep("rounds.ics", &exchange::rounds_calendar(records, &worked).map_err(|error| anyhow::anyhow!(error))?)?;
    for day in exchange::rounds_gpx(records, &worked).map_err(|error| anyhow::anyhow!(error))? {
        keep(&day.name, &day.bytes)?;
    }
    keep("rounds.txt", rounds::answer(records, &worked).text.as_bytes())?;
    let due_table = due_list::due(project.records(), year, season::Budget::default())?;
    let today = commands::today().context("the clock of this machine gives no day")?;
    let samples = commands::samples_alive(records, year);
    let told = commands::submissions(records, &samples, None);
    keep("field-cards.pdf", &commands::card_pdf(records, &fields, year, CardSize::A4, today)?)?;
    keep("labels.pdf", &commands::labels_pdf(records, &samples, &label_sheets()[0], 1, today)?)?;
    for form in ["forms.pdf", "forms.csv"] {
        keep(form, &commands::form_bytes(&told, Path::new(form), today)?)?;
    }
    keep("due.txt", due_table.text.as_bytes())?;
    keep("ratings.txt", rate::all(&project).text.as_bytes())?;
    let act_table = act::all(records, &awn_core::act::check(records, year, None, None), year);
    keep("act.txt", act_table.text.as_bytes())?;
    keep(
        "field-order.txt",
        awn_core::report::field_order_text(records, year, &awn_core::act::order(records, year)).as_bytes(),
    )?;

    let plans_answer = plans::answer(project.records(), &planned);
    let mut text = format!("{}\n{}\nWritten:\n", due_table.text, plans_answer.text);
    for file in &written {
        text.push_str(&format!("  {}\n", file.display()));
    }
    let json = json!({ "files": written, "due": due_table.json, "plans": plans_answer.json["plans"] });
    Ok(Answer::new(json, text))
}

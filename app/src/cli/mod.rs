//! The command line: raw arguments, checked arguments, work, answer.
//!
//! Exit code 0: done. 1: problems found in the data. 2: could not be done. With `--json`, standard output is one JSON object
//! and problems go to standard error as `{"problems": [...]}`; without, both are text.

pub mod act;
mod add;
mod answer;
mod args;
mod args_act;
mod args_files;
mod args_outlook;
mod args_planning;
mod args_report;
mod args_results;
mod args_samples;
mod args_season;
mod check;
mod envelopes;
mod fields;
pub mod maps;
mod outlook;
mod patches;
mod planning;
pub mod plans;
pub mod rate;
mod rate_fields;
pub mod report;
mod ripe;
pub mod rounds;
mod samples;
pub mod season;
pub mod tables;
mod whole_job;

use std::ffi::OsString;
use std::io::Write;
use std::path::Path;

use anyhow::Context as _;
use awn_core::problem::Problems;
use awn_core::project::Project;
use clap::Parser as _;

pub use answer::Answer;
use args::{Args, Verb};

/// Runs the program with its arguments (the first is its name); returns the exit code.
pub fn run(arguments: impl IntoIterator<Item = OsString>, out: &mut dyn Write, err: &mut dyn Write) -> u8 {
    let args = match Args::try_parse_from(arguments) {
        Ok(args) => args,
        Err(error) => {
            // Help and version are answers; anything else is a request that cannot be read.
            if error.use_stderr() {
                write!(err, "{error}").ok();
                return 2;
            }
            write!(out, "{error}").ok();
            return 0;
        }
    };
    let mut problems = Problems::new();
    let done = work(&args, &mut problems, out, err);
    answer::problems(&problems, done.as_ref().err(), args.json, err).ok();
    match done {
        Ok(answer) => {
            let written =
                if args.json { writeln!(out, "{}", answer.json) } else { write!(out, "{}", answer::plain(&answer.text)) };
            if written.is_err() { 2 } else { u8::from(answer.found_problems || problems.has_errors()) }
        }
        Err(_) if problems.has_errors() => 1,
        Err(_) => 2,
    }
}

fn work(args: &Args, problems: &mut Problems, out: &mut dyn Write, err: &mut dyn Write) -> anyhow::Result<Answer> {
    awn_core::crs::set_grid_folder(args.grids.clone());
    match &args.verb {
        None => {
            crate::gui::run(args.project.clone())?;
            Ok(Answer::silent())
        }
        Some(Verb::Demo { dir, no_window }) => demo(dir, *no_window, args.json, out, err),
        Some(Verb::New { project }) => {
            Project::create(project)?;
            Ok(Answer::new(
                serde_json::json!({ "project": project }),
                format!("Made {}. Next: awn add boundaries {} FILE\n", project.display(), project.display()),
            ))
        }
        Some(Verb::Add { what, dry_run }) => add::run(what, *dry_run, problems),
        Some(Verb::Due(wanted)) => season::run(wanted),
        Some(Verb::Ripe(wanted)) => ripe::run(wanted, problems),
        Some(Verb::Rounds(wanted)) => rounds::run(wanted, problems),
        Some(Verb::Stops(wanted)) => plans::stops(wanted, problems),
        Some(Verb::HowMany(wanted)) => planning::how_many(wanted),
        Some(Verb::Compare(wanted)) => planning::compare(wanted),
        Some(Verb::Density(wanted)) => planning::density(wanted),
        Some(Verb::Tramlines(wanted)) => planning::tramlines(wanted, problems),
        Some(Verb::Set(wanted)) => planning::set(wanted),
        Some(Verb::Rate(wanted)) => rate::run(wanted),
        Some(Verb::Act { what }) => act::run(what),
        Some(Verb::Outlook(wanted)) => outlook::outlook(wanted, problems),
        Some(Verb::Scenarios { project, remove }) => outlook::scenarios(project, remove.as_deref()),
        Some(Verb::Costs(wanted)) => outlook::costs(wanted, problems),
        Some(Verb::Patches(wanted)) => patches::patches(wanted, problems),
        Some(Verb::Fields { project, year }) => tables::fields(&open(project)?, *year),
        Some(Verb::Map(wanted)) => maps::map(wanted, problems),
        Some(Verb::Report(wanted)) => report::run(wanted, problems),
        Some(Verb::Export(wanted)) => maps::export(wanted),
        Some(Verb::Samples(wanted)) => samples::run(wanted, problems),
        Some(Verb::Card(wanted)) => envelopes::card(wanted),
        Some(Verb::Labels(wanted)) => envelopes::labels(wanted),
        Some(Verb::Form(wanted)) => envelopes::form(wanted, problems),
        Some(Verb::Walked(wanted)) => envelopes::walked(wanted, problems),
        Some(Verb::Check { project }) => check::run(project, problems),
    }
}

/// Opens a project for reading or writing.
fn open(path: &Path) -> anyhow::Result<Project> {
    Project::open(path).with_context(|| format!("{} cannot be opened", path.display()))
}

fn demo(dir: &Path, no_window: bool, json: bool, out: &mut dyn Write, err: &mut dyn Write) -> anyhow::Result<Answer> {
    let done = whole_job::run_whole_job(dir)?;
    if no_window {
        return Ok(done);
    }
    if !has_display() {
        writeln!(
            err,
            "There is no display here, so the window is not opened; the sample farm's outputs are in {}.",
            dir.display()
        )?;
        return Ok(done);
    }
    if json {
        writeln!(out, "{}", done.json)?;
    } else {
        write!(out, "{}", done.text)?;
    }
    out.flush()?;
    crate::gui::run(Some(crate::demo::project_path(dir)))?;
    Ok(Answer::silent())
}

/// Whether a window can be opened.
fn has_display() -> bool {
    let set = |name| std::env::var_os(name).is_some_and(|value| !value.is_empty());
    !cfg!(target_os = "linux") || set("DISPLAY") || set("WAYLAND_DISPLAY")
}

//! The coming years in the window: working them out in the background, and keeping scenarios and costs.

use std::path::Path;
use std::sync::Arc;

use awn_core::act::outlook::{self, Ask, GivenStart};
use awn_core::exchange::{ZoneRate, Zones};
use awn_core::model::{Cultivation, FieldId, OutlookSettings, Record, Records, Scenario, ScenarioId, same_name};
use awn_core::problem::Problems;
use awn_core::progress::Progress;
use awn_core::project::Edit as EditOf;

use crate::commands::write;
use crate::gui::app::App;
use crate::gui::document::Edit;
use crate::gui::jobs::kind::{JobKind, Outcome};
use crate::gui::view::act::ActTab;
use crate::gui::view::outlook::{Expected, OutlookFound, OutlookWish};
use crate::gui::view::{Colouring, Lens};

/// What the coming years were asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct OutlookKey {
    project: u64,
    generation: u64,
    year: i32,
    field: Option<FieldId>,
    scenarios: Vec<ScenarioId>,
    years: usize,
    start: Option<GivenStart>,
    cultivation: Cultivation,
}

impl App {
    /// Carries out a wish about the coming years.
    pub(in crate::gui) fn wish(&mut self, wish: OutlookWish, ctx: &egui::Context) {
        match wish {
            OutlookWish::Show(view) => self.state.view.outlook = *view,
            OutlookWish::Keep(scenario) => self.keep_scenario(*scenario),
            OutlookWish::Remove(id) => self.remove_scenario(id),
            OutlookWish::KeepCosts(settings) => self.keep_costs(*settings),
            OutlookWish::WritePatches => self.dialogs.ask(crate::gui::dialogs::Question::SavePatches, ctx.clone()),
        }
    }

    fn keep_scenario(&mut self, scenario: Scenario) {
        let Some(records) = self.records().cloned() else { return };
        let mut problems = Problems::new();
        outlook::scenario::ready(&scenario, &mut problems);
        let taken = records.scenarios.values().any(|held| held.id != scenario.id && same_name(&held.name, &scenario.name));
        if taken {
            problems.error(&scenario.name, "another scenario has this name.", "Give it another one.");
        }
        let view = &mut self.state.view.outlook;
        view.wrong = problems.errors().map(|problem| format!("{problem}")).collect();
        if !view.wrong.is_empty() {
            return;
        }
        view.editing = None;
        if !view.chosen.is_empty() && !view.chosen.contains(&scenario.id) && view.chosen.len() < outlook::MOST_SCENARIOS {
            view.chosen.push(scenario.id);
        }
        let mut edit = EditOf::new(&records, format!("Keep scenario {}", scenario.name));
        edit.put(Record::Scenario(scenario));
        self.keep(edit);
    }

    fn remove_scenario(&mut self, id: ScenarioId) {
        let Some(records) = self.records().cloned() else { return };
        let Some(held) = records.scenarios.get(&id) else { return };
        let mut edit = EditOf::new(&records, format!("Remove scenario {}", held.name));
        edit.remove(&Record::Scenario((**held).clone()));
        self.state.view.outlook.editing = None;
        self.state.view.outlook.chosen.retain(|chosen| *chosen != id);
        self.keep(edit);
    }

    fn keep_costs(&mut self, settings: OutlookSettings) {
        let Some(records) = self.records().cloned() else { return };
        if let Err(error) = outlook::money_is_sound(&settings) {
            self.state.view.outlook.wrong = vec![format!("{error}.")];
            return;
        }
        self.state.view.outlook.wrong.clear();
        self.state.view.outlook.costs = None;
        let mut edit = EditOf::new(&records, "Change prices and costs");
        edit.put(Record::Settings(awn_core::model::Settings { outlook: settings, ..records.settings.clone() }));
        self.keep(edit);
    }

    fn keep(&mut self, edit: EditOf<'_>) {
        let command = edit.done();
        if !command.changes.is_empty() {
            self.edit(Edit::Apply(command, None));
        }
    }

    fn outlook_key(&self, field: Option<FieldId>) -> Option<OutlookKey> {
        let document = self.state.document.as_ref()?;
        let view = &self.state.view;
        Some(OutlookKey {
            project: self.opened,
            generation: document.generation,
            year: view.year,
            field,
            scenarios: view.outlook.scenarios(&document.records),
            years: view.outlook.years,
            start: field.and_then(|field| view.outlook.start_of(field)),
            cultivation: view.outlook.cultivation,
        })
    }

    /// Starts working out the coming years of the chosen field when the lens shows them; true if it was started.
    pub(in crate::gui) fn refresh_outlook(&mut self) -> bool {
        // A field's own page speaks of its coming years too.
        let tab = self.state.view.act.tab;
        let is_shown = self.state.view.lens == Lens::Act && (tab.looks_ahead() || tab == ActTab::Money);
        let Some(field) = self.state.view.single().filter(|_| is_shown) else { return false };
        let wanted = self.outlook_key(Some(field));
        if wanted.is_none() || self.state.caches.outlook_for == wanted {
            return false;
        }
        self.state.caches.outlook_for.clone_from(&wanted);
        let (Some(key), Some(records)) = (wanted, self.records().cloned()) else { return false };
        self.jobs.start(JobKind::Outlook, "Drawing the coming years", false, move |progress| {
            Outcome::Outlook(Box::new(of_field(&records, field, &key, progress)))
        });
        true
    }

    /// Starts working out the density expected on every field when the map is coloured by it; true if it was started.
    pub(in crate::gui) fn refresh_expected(&mut self) -> bool {
        let view = &self.state.view;
        let over_all = view.lens == Lens::Act && view.act.tab == ActTab::Years && view.single().is_none();
        if view.shown_colouring() != Colouring::Expected && !over_all {
            return false;
        }
        let wanted = self.outlook_key(None).filter(|key| !key.scenarios.is_empty() || !over_all);
        if wanted.is_none() || self.state.caches.expected_for == wanted {
            return false;
        }
        self.state.caches.expected_for.clone_from(&wanted);
        let (Some(key), Some(records)) = (wanted, self.records().cloned()) else { return false };
        self.jobs.start(JobKind::Expected, "Drawing the coming years of all fields", true, move |progress| {
            Outcome::Expected(expected(&records, &key, progress).map(Arc::new))
        });
        true
    }

    /// Writes the chosen patches of the chosen field.
    pub(in crate::gui) fn write_patches(&mut self, path: &Path) {
        let (Some(records), Some(field)) = (self.records().cloned(), self.state.view.single()) else { return };
        let Some(found) = self.state.caches.outlook.as_ref().filter(|found| found.field == field) else { return };
        let chosen = &self.state.view.outlook.patches;
        let wanted = |at: usize| chosen.is_empty() || chosen.contains(&at);
        let list = found.patches.iter().enumerate().filter(|(at, _)| wanted(*at));
        let patches: Vec<_> = list.map(|(at, (patch, _))| (at + 1, patch.clone())).collect();
        let (litres, year, path) = (self.state.view.outlook.litres, self.state.view.year, path.to_owned());
        self.jobs.start(JobKind::Export, "Writing the file", false, move |_| {
            let written = || -> Result<std::path::PathBuf, String> {
                let field = records.fields.get(&field).ok_or("There is no such field any more.")?;
                let rate = (litres > 0.0).then(|| ZoneRate::litres_per_ha(litres)).transpose()?;
                let zones = Zones { field, farm: records.farm_name(field), year, patches, rate };
                let ending = path.extension().map(|ending| ending.to_string_lossy().to_lowercase());
                for file in zones.files(ending.as_deref().unwrap_or("shp"))? {
                    let path = file.ending.map_or_else(|| path.clone(), |ending| path.with_extension(ending));
                    write(&path, &file.bytes).map_err(|error| format!("{error:#}"))?;
                }
                Ok(path)
            };
            Outcome::Exported(written())
        });
    }
}

fn ask(records: &Records, fields: Vec<Arc<awn_core::model::Field>>, key: &OutlookKey) -> Ask {
    let scenarios = key.scenarios.iter().filter_map(|id| records.scenarios.get(id).cloned()).collect();
    Ask { fields, scenarios, first_harvest: key.year, years: key.years, start: key.start }
}

fn of_field(records: &Records, field: FieldId, key: &OutlookKey, progress: &dyn Progress) -> OutlookFound {
    let mut problems = Problems::new();
    let Some(held) = records.fields.get(&field) else {
        return OutlookFound {
            field,
            found: None,
            patches: Vec::new(),
            why: vec!["There is no such field any more.".into()],
            no_patches: Vec::new(),
        };
    };
    let asked = ask(records, vec![held.clone()], key);
    let mut why = Vec::new();
    let found = if asked.scenarios.is_empty() {
        None
    } else {
        match outlook::for_records(records, &asked, &mut problems, progress) {
            Ok(found) => found.and_then(|list| list.into_iter().next()),
            Err(error) => {
                why.push(format!("{error}."));
                None
            }
        }
    };
    why.extend(problems.errors().map(|problem| format!("{} {}", problem.what, problem.hint)));
    let mut unsaid = Problems::new();
    let patches = outlook::patches_of(records, held, key.year, key.cultivation, None, &mut unsaid);
    let patches = patches.map_or_else(Vec::new, |(_, patches, costs)| patches.list.into_iter().zip(costs).collect());
    let no_patches = unsaid.errors().map(|problem| format!("{} {}", problem.what, problem.hint)).collect();
    OutlookFound { field, found, patches, why, no_patches }
}

fn expected(records: &Records, key: &OutlookKey, progress: &dyn Progress) -> Result<Expected, String> {
    let asked = ask(records, records.fields_in(key.year), key);
    let scenario =
        asked.scenarios.first().map(|scenario| scenario.name.clone()).ok_or("There is no scenario to look ahead with.")?;
    let mut problems = Problems::new();
    let found = outlook::for_records(records, &asked, &mut problems, progress).map_err(|error| format!("{error}."))?;
    let last = |field: &outlook::FieldOutlook| Some((field.field, field.scenarios.first()?.years.last()?.heads));
    let found = found.unwrap_or_default();
    let heads = found.iter().filter_map(last).collect();
    let area = |one: &outlook::FieldOutlook| records.fields.get(&one.field).map_or(0.0, |field| field.area_m2());
    let all = outlook::overall(&found, area);
    Ok(Expected { scenario, harvest: key.year + key.years as i32 - 1, heads, all })
}

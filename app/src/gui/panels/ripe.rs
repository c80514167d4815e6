//! How ripe seed is in a field: the dates, the checks, and the entry of another.

use awn_core::model::{FieldId, RipeCheck, RipeCheckId};
use awn_core::season::{Basis, RipeDays, seed_window, seed_windows, sown};
use egui::{ComboBox, DragValue, Id, RichText, TextEdit, Ui};
use jiff::civil::Date;

use crate::gui::ctx::Ctx;
use crate::gui::request::Request;
use crate::gui::style;
use crate::gui::widgets::{Icon, icon_button, note, section, small};

/// What is being typed.
#[derive(Debug, Clone, PartialEq)]
struct Typed {
    day: String,
    shed: f64,
    species: String,
    who: String,
}

/// Shows dates, checks and the entry.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>, field: FieldId, today: Option<Date>) {
    section(ui, "Ripe seed");
    let Some(days) = ctx.facts.ripe.fields.get(&field) else {
        note(ui, "No season window is known for this weed.");
        return;
    };
    dates(ui, ctx, field, days);
    let checks: Vec<_> =
        ctx.records.ripe_checks_in(ctx.view.year).into_iter().filter(|check| check.field == field).cloned().collect();
    for check in checks {
        ui.horizontal(|ui| {
            let who = if check.who.is_empty() { String::new() } else { format!(", {}", check.who) };
            let day = check.date.strftime("%-d %B");
            let text = format!("{day}: {:.0} % of {} shed{who}", check.shed_percent, check.species);
            ui.label(RichText::new(text).size(style::SMALL));
            if icon_button(ui, Icon::Close, &format!("Remove the check of {day}"), ctx.can_write()).clicked() {
                ctx.ask(Request::RemoveCheck(check.id));
            }
        });
    }
    entry(ui, ctx, field, days, today);
}

fn dates(ui: &mut Ui, ctx: &Ctx<'_>, field: FieldId, days: &RipeDays) {
    let name = seed_window(&days.species, sown(ctx.records, field, ctx.view.year)).map_or("", |row| row.name.as_str());
    let source = seed_window(&days.species, sown(ctx.records, field, ctx.view.year)).map_or("", |row| row.source.as_str());
    ui.label(format!("10 to 20 % shed {}", days.words())).on_hover_text(format!(
        "Take seed when most is mature and 10 to 20 % has shed from the top of the head. Season window of {name}: {}. {source}",
        days.window.words()
    ));
    let rests = match days.basis {
        Basis::Window => format!("The season window of {name} alone: nobody has looked yet this year. Look before you go."),
        Basis::OtherFields => "From checks in other fields of this year; nobody has looked here.".to_owned(),
        Basis::Checks => format!("From {} here and those of other fields.", awn_core::units::count(days.checks, "check")),
    };
    note(ui, rests);
    if let (Some(first), Some(last)) = (days.first, days.last) {
        note(ui, format!("Nine times in ten, 10 % is reached {}, and 20 % {}.", first.words(), last.words()));
    }
}

fn entry(ui: &mut Ui, ctx: &Ctx<'_>, field: FieldId, days: &RipeDays, today: Option<Date>) {
    let id = Id::unique("ripeness check").with((field, ctx.view.year));
    let held: Option<Typed> = ui.data(|data| data.get_temp(id)).flatten();
    let first = today.filter(|day| i32::from(day.year()) == ctx.view.year).unwrap_or(days.window.from);
    let mut typed = held.unwrap_or_else(|| Typed {
        day: first.to_string(),
        shed: 10.0,
        species: days.species.clone(),
        who: String::new(),
    });
    ui.add_enabled_ui(ctx.can_write(), |ui| {
        ui.horizontal(|ui| {
            let ink = style::of(ui).ink;
            let edit = TextEdit::singleline(&mut typed.day).text_color(ink).hint_text("2027-07-12").desired_width(112.0);
            let response = ui.add(edit);
            response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::TextInput, true, "Day of the check"));
            response.on_hover_text("The day somebody looked, as year-month-day.");
            ui.add(DragValue::new(&mut typed.shed).range(0.0..=100.0).speed(0.5).max_decimals(0).suffix(" % shed"))
                .accessible_name("Seed shed, %")
                .on_hover_text("Seed that has fallen, of all on the heads; look at some twenty heads across the field.");
            let combo = ComboBox::from_id_salt("weed of the check").selected_text(&typed.species).width(72.0);
            let shown = combo.show_ui(ui, |ui| {
                let mut last = "";
                for row in seed_windows().iter().filter(|row| std::mem::replace(&mut last, &row.species) != row.species) {
                    ui.selectable_value(&mut typed.species, row.species.clone(), format!("{} {}", row.species, row.name));
                }
            });
            shown.response.accessible_name("Weed of the check").on_hover_text("The weed, by its EPPO code.");
        });
        ui.horizontal(|ui| {
            let ink = style::of(ui).ink;
            let edit = TextEdit::singleline(&mut typed.who).text_color(ink).hint_text("Who looked").desired_width(124.0);
            let response = ui.add(edit);
            response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::TextInput, true, "Who looked"));
            let day: Option<Date> = typed.day.trim().parse().ok();
            let button = ui.add_enabled(day.is_some(), egui::Button::new("Add the check"));
            let button = button.on_hover_text("Keep what was seen; the dates of all fields follow.");
            if let Some(date) = day.filter(|_| button.clicked()) {
                ctx.ask(Request::KeepCheck(Box::new(RipeCheck {
                    id: RipeCheckId::new(),
                    field,
                    date,
                    species: typed.species.clone(),
                    shed_percent: typed.shed,
                    who: typed.who.trim().to_owned(),
                })));
            }
            if day.is_none() {
                let text = small(ui, "Write the day as 2027-07-12.");
                ui.label(text);
            }
        });
    });
    ui.data_mut(|data| data.insert_temp(id, Some(typed)));
}

/// Which weed is sampled, and how early or late seed is this year.
pub fn season(ui: &mut Ui, ctx: &Ctx<'_>) {
    section(ui, "Season");
    let year = ctx.view.year;
    let before = &ctx.records.settings.season;
    let mut season = before.clone();
    let id = Id::unique("season shift").with(year);
    let held: Option<i32> = ui.data(|data| data.get_temp(id)).flatten();
    let mut shift = held.unwrap_or_else(|| before.shift(year));
    let mut done = false;
    ui.add_enabled_ui(ctx.can_write(), |ui| {
        ui.horizontal(|ui| {
            let label = ui.label(small(ui, "Weed")).id;
            let name = seed_window(before.main_species(), awn_core::season::Sown::Autumn).map_or("", |row| &row.name);
            let mut chosen = before.main_species().to_owned();
            let shown = ComboBox::from_id_salt("main weed").selected_text(name).width(136.0).show_ui(ui, |ui| {
                let mut last = "";
                for row in seed_windows().iter().filter(|row| std::mem::replace(&mut last, &row.species) != row.species) {
                    ui.selectable_value(&mut chosen, row.species.clone(), format!("{} {}", row.species, row.name))
                        .on_hover_text(&row.source);
                }
            });
            shown.response.labelled_by(label);
            if chosen != before.main_species() {
                season.species.retain(|held| *held != chosen);
                season.species.insert(0, chosen);
                done = true;
            }
        });
        ui.horizontal(|ui| {
            let text = small(ui, "Seed this year is later by");
            ui.label(text);
            let drag = DragValue::new(&mut shift).range(-40..=40).speed(0.2).suffix(" days");
            let response = ui.add(drag).accessible_name("Days by which seed is later this year").on_hover_text(
                "Days by which seed is later than in an ordinary year; below 0: earlier. Once somebody has looked, checks count for more.",
            );
            if response.drag_stopped() || response.lost_focus() {
                season.shift_days.insert(year, shift);
                season.shift_days.retain(|_, days| *days != 0);
                done = true;
            }
        });
    });
    let kept = (shift != before.shift(year) && !done).then_some(shift);
    ui.data_mut(|data| data.insert_temp(id, kept));
    if done && season != *before {
        ctx.ask(Request::SetSeasonSettings(Box::new(season)));
    }
    for fit in &ctx.facts.ripe.fits {
        note(
            ui,
            format!(
                "{}: {} in {}.",
                fit.species,
                awn_core::units::count(fit.checks, "ripeness check"),
                awn_core::units::count(fit.fields, "field")
            ),
        );
    }
    if ctx.facts.ripe.fits.is_empty() {
        note(ui, "No ripeness checks yet: choose a field and add what you see there.");
    }
}

//! The bar on top: project, harvest year, lenses, find, undo and redo.

use egui::{Align, Button, Key, Layout, Popup, RichText, Role, ScrollArea, Sense, TextEdit, Ui, WidgetInfo, vec2};

use crate::gui::action::Action;
use crate::gui::ctx::Ctx;
use crate::gui::document::lower_first;
use crate::gui::request::Request;
use crate::gui::style;
use crate::gui::view::Lens;
use crate::gui::widgets::{Icon, icon_button, menu_item};

/// Shows the bar.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>) {
    ui.horizontal_centered(|ui| {
        project(ui, ctx);
        ui.add_space(2.0 * style::STEP);
        harvest(ui, ctx);
        ui.add_space(4.0 * style::STEP);
        for action in [
            Action::LensFields,
            Action::LensScout,
            Action::LensWalk,
            Action::LensSamples,
            Action::LensResults,
            Action::LensAct,
            Action::LensReport,
        ] {
            if let Some(lens) = action.lens() {
                tab(ui, ctx, action, lens);
            }
        }
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            let redo = ctx.redo.map_or("Nothing to do again".to_owned(), |name| format!("Redo {}", lower_first(name)));
            if icon_button(ui, Icon::Redo, &redo, Action::Redo.enabled(ctx)).clicked() {
                ctx.act(Action::Redo);
            }
            let undo = ctx.undo.map_or("Nothing to take back".to_owned(), |name| format!("Undo {}", lower_first(name)));
            if icon_button(ui, Icon::Undo, &undo, Action::Undo.enabled(ctx)).clicked() {
                ctx.act(Action::Undo);
            }
            find(ui, ctx);
            warnings(ui, ctx);
            // In a narrow window the message said so when the project was opened, and nothing that changes it is offered.
            if let Some(holder) = ctx.held_by.filter(|_| ui.available_width() > 80.0) {
                let text = RichText::new("Read-only").color(style::of(ui).warn);
                ui.label(text)
                    .on_hover_text(format!("{holder} has the project open for writing. Close it there to change it here."));
            }
        });
    });
}

/// The project's name, which opens the menu.
fn project(ui: &mut Ui, ctx: &Ctx<'_>) {
    let tokens = style::of(ui);
    let name = RichText::new(format!("{}    ", ctx.title)).font(style::bold_of(style::HEADING)).color(tokens.ink);
    let button = ui.add(Button::new(name).frame_when_inactive(false).truncate());
    button.widget_info(|| WidgetInfo::labeled(Role::Button, true, format!("Project menu of {}", ctx.title)));
    let corner = button.rect.right_center() - vec2(6.0, -2.0);
    let mark = vec![corner - vec2(4.0, 2.0), corner + vec2(0.0, 2.0), corner + vec2(4.0, -2.0)];
    ui.painter().add(egui::Shape::line(mark, egui::Stroke::new(1.4, tokens.accent)));
    let room = ui.ctx().content_rect().height() - style::TOP_BAR - 32.0;
    Popup::menu(&button).show(|ui| {
        ui.set_min_width(240.0);
        ScrollArea::vertical().max_height(room).show(ui, |ui| menu(ui, ctx));
    });
}

/// The menu: short enough for a small window, with what is read in, written and printed in menus of their own.
fn menu(ui: &mut Ui, ctx: &Ctx<'_>) {
    let items = |ui: &mut Ui, actions: &[Action]| {
        for action in actions {
            menu_item(ui, ctx, *action, None);
        }
    };
    items(ui, &[Action::NewProject, Action::OpenProject, Action::OpenSampleFarm]);
    // The first is the one that is open.
    for path in ctx.recent.iter().skip(1).take(3) {
        let name = path.file_stem().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        let button = Button::new(format!("Open {name} again")).frame_when_inactive(false);
        if ui.add(button).on_hover_text(path.display().to_string()).clicked() {
            ctx.ask(Request::Open(path.clone()));
            ui.close();
        }
    }
    ui.separator();
    let reads = [
        Action::ImportBoundaries,
        Action::ImportGates,
        Action::ImportScouting,
        Action::ImportResults,
        Action::ImportWalk,
        Action::ImportSprays,
        Action::ImportCrops,
        Action::ImportProgrammes,
    ];
    let writes = [
        Action::ExportWalks,
        Action::ExportStops,
        Action::ExportCalendar,
        Action::ExportRounds,
        Action::ExportResults,
        Action::ExportMap,
        Action::ExportEverything,
        Action::ExportShared,
    ];
    let prints = [Action::PrintCards, Action::PrintLabels, Action::PrintForms, Action::ExportReport];
    let looks = [Action::ZoomToAll, Action::ZoomToSelection, Action::ZoomIn, Action::ZoomOut, Action::ShowLayers];
    for (name, actions) in [("Read in", &reads[..]), ("Write out", &writes[..]), ("Print", &prints[..]), ("Map", &looks[..])]
    {
        ui.menu_button(name, |ui| items(ui, actions));
    }
    ui.separator();
    let undo = ctx.undo.map(|name| format!("Undo {}", lower_first(name)));
    menu_item(ui, ctx, Action::Undo, undo.as_deref());
    let redo = ctx.redo.map(|name| format!("Redo {}", lower_first(name)));
    menu_item(ui, ctx, Action::Redo, redo.as_deref());
    items(ui, &[Action::ShowHistory, Action::ShowPalette]);
    ui.separator();
    ui.horizontal(|ui| items(ui, &[Action::LightTheme, Action::DarkTheme, Action::SystemTheme]));
    items(ui, &[Action::LargerText, Action::SmallerText, Action::UsualText]);
}

/// The harvest year with a step to either side.
fn harvest(ui: &mut Ui, ctx: &Ctx<'_>) {
    ui.spacing_mut().item_spacing.x = style::STEP;
    let year = ctx.view.year;
    if icon_button(ui, Icon::Back, "Earlier harvest", year > 1950).clicked() {
        ctx.ask(Request::SetYear(year - 1));
    }
    ui.label(RichText::new(format!("Harvest {year}")).font(style::bold_of(style::BODY))).on_hover_text(
        "Everything shown is as known for this harvest. A survey or a drilling from August on belongs to the next harvest.",
    );
    if icon_button(ui, Icon::Forward, "Later harvest", year < 2200).clicked() {
        ctx.ask(Request::SetYear(year + 1));
    }
}

/// A lens as a word with a line under the chosen one.
fn tab(ui: &mut Ui, ctx: &Ctx<'_>, action: Action, lens: Lens) {
    let tokens = style::of(ui);
    let chosen = ctx.view.lens == lens;
    let colour = if chosen { tokens.ink } else { tokens.accent };
    let galley = ui.painter().layout_no_wrap(
        action.text().to_owned(),
        if chosen { style::bold_of(style::BODY) } else { egui::FontId::proportional(style::BODY) },
        colour,
    );
    // In a narrow window the lenses stand closer.
    let beside = if ui.ctx().content_rect().width() < style::NARROW { 8.0 } else { 24.0 };
    let (rect, response) = ui.allocate_exact_size(vec2(galley.size().x + beside, 32.0), Sense::click());
    response.widget_info(|| WidgetInfo::selected(Role::Tab, true, chosen, action.text()));
    let at = rect.center() - galley.size() / 2.0;
    let width = galley.size().x;
    ui.painter().galley(at, galley, colour);
    let under = rect.center().y + 13.0;
    if chosen {
        let half = width / 2.0 + 4.0;
        ui.painter().hline(rect.center().x - half..=rect.center().x + half, under, egui::Stroke::new(2.0, tokens.ink));
    }
    if response.hovered() || response.has_focus() {
        ui.painter().rect_stroke(rect, 2.0, egui::Stroke::new(1.0, tokens.line), egui::StrokeKind::Inside);
    }
    if response.clicked() {
        ctx.act(action);
    }
    let keys = action.shortcut().map(|keys| format!(" ({})", ui.ctx().format_shortcut(&keys))).unwrap_or_default();
    response.on_hover_text(format!("{}{keys}", action.tooltip()));
}

/// The box that filters the field list; where there is no room for it, a button that opens the list of actions and fields.
fn find(ui: &mut Ui, ctx: &Ctx<'_>) {
    if ui.available_width() < 120.0 && ctx.view.filter.is_empty() {
        let pressed = icon_button(ui, Icon::Find, "Find a field or an action", true).clicked();
        if ctx.view.focus_find {
            ctx.ask(Request::FindFocused);
        }
        if pressed || ctx.view.focus_find {
            ctx.act(Action::ShowPalette);
        }
        return;
    }
    let mut filter = ctx.view.filter.clone();
    let edit = TextEdit::singleline(&mut filter)
        .text_color(style::of(ui).ink)
        .hint_text("Find a field or farm")
        .desired_width(160.0);
    let response = ui.add(edit);
    let response = response.accessible_name("Find a field");
    if ctx.view.focus_find {
        response.request_focus();
        ctx.ask(Request::FindFocused);
    }
    if response.lost_focus() && ui.input(|input| input.key_pressed(Key::Escape)) {
        filter.clear();
    }
    if filter != ctx.view.filter {
        ctx.ask(Request::SetFilter(filter));
    }
}

fn warnings(ui: &mut Ui, ctx: &Ctx<'_>) {
    if ctx.problems.is_empty() {
        return;
    }
    let count: usize = ctx.problems.iter().map(|list| list.problems.len()).sum();
    let text = RichText::new(awn_core::units::count(count, "problem")).color(style::of(ui).warn);
    if ui.add(Button::new(text)).on_hover_text(Action::ShowProblems.tooltip()).clicked() {
        ctx.act(Action::ShowProblems);
    }
}

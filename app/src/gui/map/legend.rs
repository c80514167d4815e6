//! The legend card: what the colours mean, how many fields and hectares each stands for, and where to change it.

use awn_core::model::{Settings, modes_of_action};
use awn_core::rating::RatingOf;
use awn_core::units;
use egui::{
    Align, Area, Button, Color32, Frame, Id, Layout, Margin, Order, Painter, Popup, Pos2, Rect, Response, RichText, Role,
    Sense, Stroke, Ui, WidgetInfo, pos2, vec2,
};

use super::classes::{Class, Over};
use super::density::DensityLayer;
use super::hatch::{hatch, stipple};
use super::labels::draw_arrow;
use super::painted::{Count, Painted};
use crate::gui::ctx::Ctx;
use crate::gui::request::Request;
use crate::gui::style::{self, Tokens};
use crate::gui::view::{Colouring, Lens};
use crate::gui::widgets::{Icon, icon_button};

/// Distance of the card from the edges of the map, points.
const SIDE: f32 = 12.0;
/// Widths of the swatch, of a figure and of a column of the two-way legend.
const SWATCH: f32 = 40.0;
const FIGURE: f32 = 42.0;
const COLUMN: f32 = 42.0;
/// Room that the buttons at the other side of the map need.
const TOOLS: f32 = 60.0;
/// Room for the mark of a choice behind its words.
const MARK: f32 = 24.0;
/// Width of the number of fields.
const FIELDS: f32 = 48.0;
/// Names of classes cut shorter than this say nothing.
const LEAST_NAME: f32 = 84.0;

/// Shows the card in the top left corner of the map; gives its place.
pub fn show(ui: &Ui, map: Rect, painted: &Painted, ctx: &Ctx<'_>, density: Option<&DensityLayer>) -> Rect {
    let colouring = ctx.view.shown_colouring();
    if colouring == Colouring::Plain || ctx.facts.rows.is_empty() {
        return Rect::NOTHING;
    }
    let tokens = style::of(ui);
    let area = Area::new(Id::unique("legend")).order(Order::Middle).movable(false).constrain(false);
    let shown = area.fixed_pos(map.min + vec2(SIDE, SIDE)).show(ui.ctx(), |ui| {
        let frame = Frame::new().fill(tokens.raised).stroke(Stroke::new(1.0, tokens.line)).corner_radius(2.0);
        frame.inner_margin(Margin::symmetric(12, 8)).show(ui, |ui| {
            ui.spacing_mut().item_spacing = vec2(0.0, 2.0);
            ui.spacing_mut().button_padding.x = 0.0;
            // On a narrow map the card stays clear of the buttons at the other side.
            let room = (map.width() - TOOLS - 4.0 * SIDE).max(SWATCH + FIGURE);
            ui.set_max_width(room);
            chooser(ui, ctx, colouring);
            if colouring.is_of_ratings() {
                rating_chooser(ui, ctx);
            }
            if let Some(found) = ctx.expected.filter(|_| colouring == Colouring::Expected) {
                small(ui, &format!("Harvest {}, “{}”, median", found.harvest, found.scenario), tokens.muted);
            }
            match density {
                _ if colouring != Colouring::Density => classes(ui, painted, room, tokens),
                Some(layer) if !layer.fields.is_empty() => densities(ui, layer, ctx, room, tokens),
                Some(_) => small(ui, "No field has been scouted.", tokens.muted),
                None => small(ui, "Working it out…", tokens.muted),
            }
            if matches!(colouring, Colouring::RatingAndAge | Colouring::Age | Colouring::Due) {
                interval(ui, ctx);
            }
        });
    });
    shown.response.rect
}

fn small(ui: &mut Ui, text: &str, colour: Color32) {
    ui.label(RichText::new(text).size(style::SMALL).color(colour));
}

/// The colouring, as a button that opens the choice.
fn chooser(ui: &mut Ui, ctx: &Ctx<'_>, colouring: Colouring) {
    // Scouting is about density alone, samples about their stages.
    if matches!(ctx.view.lens, Lens::Scout | Lens::Samples) {
        ui.label(RichText::new(colouring.label()).font(style::bold_of(style::SMALL)));
        return;
    }
    let button = drop_down(ui, colouring.label(), style::bold_of(style::SMALL), "Colour by");
    Popup::menu(&button).show(|ui| {
        let act = ctx.view.lens == Lens::Act;
        let choices: &[Colouring] = if act { &Colouring::ACT_CHOICE } else { &Colouring::CHOICE };
        for choice in choices.iter().copied() {
            if ui.selectable_label(choice == colouring, choice.label()).clicked() {
                ctx.ask(Request::SetColouring(choice));
                ui.close();
            }
        }
    });
}

/// What the ratings are taken from.
fn rating_chooser(ui: &mut Ui, ctx: &Ctx<'_>) {
    let words = of_words(&ctx.view.rating_of);
    let button = drop_down(ui, &words, egui::FontId::proportional(style::SMALL), "Ratings for");
    Popup::menu(&button).show(|ui| {
        let choice = |ui: &mut Ui, of: RatingOf| {
            if ui.selectable_label(ctx.view.rating_of == of, of_words(&of)).clicked() {
                ctx.ask(Request::SetRatingOf(of));
                ui.close();
            }
        };
        choice(ui, RatingOf::Worst);
        ui.separator();
        let mut groups: Vec<&str> = ctx.facts.history.all_groups().into_iter().collect();
        groups.sort_by_key(|group| (group.parse::<u32>().unwrap_or(u32::MAX), *group));
        for group in groups {
            choice(ui, RatingOf::Group(group.to_owned()));
        }
        ui.separator();
        for active in ctx.facts.history.all_actives() {
            choice(ui, RatingOf::Active(active.to_owned()));
        }
    });
}

fn of_words(of: &RatingOf) -> String {
    match of {
        RatingOf::Worst => "Worst of any mode of action".into(),
        RatingOf::Group(group) => {
            let name = modes_of_action().iter().find(|mode| mode.group == group).map_or("", |mode| mode.name);
            format!("HRAC group {group}, {name}")
        }
        RatingOf::Active(active) => active.clone(),
    }
}

fn drop_down(ui: &mut Ui, text: &str, font: egui::FontId, what: &str) -> Response {
    let tokens = style::of(ui);
    let shown = fitting(ui, text, &font, ui.available_width() - MARK);
    let label = RichText::new(format!("{shown}     ")).font(font).color(tokens.ink);
    let button = ui.add(Button::new(label).frame_when_inactive(false).small().truncate());
    button.widget_info(|| WidgetInfo::labeled(Role::Button, true, format!("{what}: {text}")));
    let corner = button.rect.right_center() - vec2(6.0, -1.0);
    let mark = vec![corner - vec2(4.0, 2.0), corner + vec2(0.0, 2.0), corner + vec2(4.0, -2.0)];
    ui.painter().add(egui::Shape::line(mark, Stroke::new(1.4, tokens.accent)));
    button
}

/// As much of a text as fits a width, so that the mark behind it stays clear.
fn fitting(ui: &Ui, text: &str, font: &egui::FontId, width: f32) -> String {
    let wide = |text: &str| ui.painter().layout_no_wrap(text.to_owned(), font.clone(), style::NONE).size().x;
    if wide(text) <= width {
        return text.to_owned();
    }
    let mut held: Vec<char> = text.chars().collect();
    while !held.is_empty() && wide(&format!("{}…", held.iter().collect::<String>())) > width {
        held.pop();
    }
    format!("{}…", held.iter().collect::<String>().trim_end())
}

/// A part of a row of a fixed width, its contents to the right.
fn cell<R>(ui: &mut Ui, width: f32, add: impl FnOnce(&mut Ui) -> R) -> R {
    let size = vec2(width, 20.0);
    ui.allocate_ui_with_layout(size, Layout::right_to_left(Align::Center), |ui| {
        ui.set_min_size(size);
        add(ui)
    })
    .inner
}

fn head(ui: &mut Ui, names: f32, columns: &[(Class, String)], fields: &str, tokens: &Tokens) {
    ui.horizontal(|ui| {
        ui.add_space(SWATCH + names);
        for (_, words) in columns {
            cell(ui, COLUMN, |ui| small(ui, words, tokens.muted));
        }
        cell(ui, FIGURE.max(8.0 * fields.len() as f32), |ui| small(ui, fields, tokens.muted));
        cell(ui, FIGURE + 12.0, |ui| small(ui, "ha", tokens.muted));
    });
}

fn figures(ui: &mut Ui, count: Count, width: f32, tokens: &Tokens) {
    cell(ui, width, |ui| small(ui, &count.fields.to_string(), tokens.ink));
    cell(ui, FIGURE + 12.0, |ui| small(ui, &format!("{:.1}", count.area_m2 / units::M2_PER_HA), tokens.ink));
}

/// Width of the column of names: as wide as they are; cut where the map is narrow, and nothing where little of them would be left beside
/// `rest`.
fn width_of_names<'a>(ui: &Ui, texts: impl Iterator<Item = &'a str>, rest: f32, room: f32, tokens: &Tokens) -> f32 {
    let font = egui::FontId::proportional(style::SMALL);
    let wide = |text: &str| ui.painter().layout_no_wrap(text.to_owned(), font.clone(), tokens.ink).size().x;
    let widest = texts.map(wide).fold(60.0, f32::max) + 8.0;
    let left = (room - SWATCH - rest).min(widest);
    if left >= LEAST_NAME { left } else { 0.0 }
}

fn line(ui: &mut Ui, class: &Class, name: &str, names: f32, tokens: &Tokens, rest: impl FnOnce(&mut Ui)) {
    ui.horizontal(|ui| {
        let (rect, sample) = ui.allocate_exact_size(vec2(SWATCH, 20.0), Sense::hover());
        sample.on_hover_text(name);
        swatch(ui.painter(), rect.left_center(), class, tokens);
        if names > 0.0 {
            ui.allocate_ui_with_layout(vec2(names, 20.0), Layout::left_to_right(Align::Center), |ui| {
                ui.set_min_width(names);
                let font = egui::FontId::proportional(style::SMALL);
                let shown = fitting(ui, name, &font, names - 4.0);
                let label = ui.label(RichText::new(&shown).font(font).color(tokens.ink));
                label.widget_info(|| WidgetInfo::labeled(Role::Label, true, name));
                if shown != name {
                    label.on_hover_text(name);
                }
            });
        }
        rest(ui);
    });
}

/// Classes worst first, with the fields and land of each; in two-way legends the fields by column besides.
fn classes(ui: &mut Ui, painted: &Painted, room: f32, tokens: &Tokens) {
    let names = painted.lines.iter().map(|line| line.class.name.as_str());
    let rest = COLUMN * painted.columns.len() as f32 + FIELDS + FIGURE + 12.0;
    let names = width_of_names(ui, names, rest, room, tokens);
    // Too narrow for land and columns, a line still says how many fields it stands for.
    let narrow = SWATCH + rest > room;
    if !painted.columns.is_empty() && !narrow {
        ui.horizontal(|ui| {
            cell(ui, SWATCH + names, |ui| small(ui, painted.columns_of, tokens.muted));
            for (sample, _) in &painted.columns {
                cell(ui, COLUMN, |ui| {
                    let (rect, _) = ui.allocate_exact_size(vec2(18.0, 14.0), Sense::hover());
                    column_sample(ui.painter(), rect, sample, tokens);
                });
            }
        });
    }
    if narrow {
        small(ui, "fields, names on hover", tokens.muted);
    } else {
        head(ui, names, &painted.columns, "fields", tokens);
    }
    for each in &painted.lines {
        line(ui, &each.class, &each.class.name, names, tokens, |ui| {
            if narrow {
                return cell(ui, FIGURE, |ui| small(ui, &each.all.fields.to_string(), tokens.ink));
            }
            for count in &each.columns {
                let text = if count.fields == 0 { "–".to_owned() } else { count.fields.to_string() };
                cell(ui, COLUMN, |ui| small(ui, &text, tokens.ink));
            }
            figures(ui, each.all, FIELDS, tokens);
        });
    }
}

fn densities(ui: &mut Ui, layer: &DensityLayer, ctx: &Ctx<'_>, room: f32, tokens: &Tokens) {
    small(ui, &layer.title(), tokens.muted);
    let known = layer.classes();
    let names = known.iter().map(|(_, name, ..)| name.as_str());
    let names = width_of_names(ui, names, 2.0 * FIGURE + 40.0, room, tokens);
    head(ui, names, &[], "in fields", tokens);
    let width = 8.0 * "in fields".len() as f32;
    for (number, (fill, name, fields, area_m2)) in known.iter().enumerate() {
        // Numbered from the lowest, as on printed maps.
        let letter = (known.len() - 1 - number).to_string();
        let class = Class { letter, ..Class::plain(Some(*fill)) };
        line(ui, &class, name, names, tokens, |ui| {
            figures(ui, Count { fields: *fields, area_m2: *area_m2 }, width, tokens);
        });
    }
    let unknown = ctx.facts.rows.iter().filter(|row| !layer.fields.contains_key(&row.id));
    let count =
        unknown.fold(Count::default(), |sum, row| Count { fields: sum.fields + 1, area_m2: sum.area_m2 + row.area_m2 });
    if count.fields > 0 {
        line(ui, &Class::unknown(), "not scouted", names, tokens, |ui| figures(ui, count, width, tokens));
    }
}

/// The retest interval, which the trade leaves open, with the way back to the usual one.
fn interval(ui: &mut Ui, ctx: &Ctx<'_>) {
    let years = ctx.facts.interval;
    ui.add_space(style::STEP);
    ui.allocate_ui_with_layout(vec2(0.0, 7.0 * style::STEP), Layout::left_to_right(Align::Center), |ui| {
        ui.spacing_mut().item_spacing.x = style::STEP;
        ui.spacing_mut().button_padding.x = 2.0 * style::STEP;
        let text = RichText::new("Due again after").size(style::SMALL);
        ui.label(text)
            .on_hover_text("How long a test is trusted. Five harvests are common practice; the trade leaves it open.");
        if icon_button(ui, Icon::Minus, "Shorter retest interval", ctx.can_write() && years > 1).clicked() {
            ctx.ask(Request::SetInterval(years - 1));
        }
        let harvests = units::count(years.max(0) as usize, "harvest");
        ui.label(RichText::new(harvests).font(style::bold_of(style::SMALL)));
        if icon_button(ui, Icon::Plus, "Longer retest interval", ctx.can_write() && years < 30).clicked() {
            ctx.ask(Request::SetInterval(years + 1));
        }
        let usual = Settings::default().retest_interval_years;
        if years != usual && ctx.can_write() {
            let reset = Button::new(RichText::new("Reset").size(style::SMALL)).small();
            if ui.add(reset).on_hover_text(format!("Back to {}.", units::count(usual.max(0) as usize, "harvest"))).clicked()
            {
                ctx.ask(Request::SetInterval(usual));
            }
        }
    });
}

/// A sample of a class with its letter, 32 by 16 points, from the middle of its left side.
pub fn swatch(painter: &Painter, left: Pos2, class: &Class, tokens: &Tokens) {
    let place = Rect::from_min_size(left - vec2(0.0, 8.0), vec2(32.0, 16.0));
    let fill = class.fill.unwrap_or(tokens.ground);
    painter.rect_filled(place, 0.0, fill);
    pattern(painter, place, class, tokens);
    painter.rect_stroke(place, 0.0, Stroke::new(1.0, tokens.ink), egui::StrokeKind::Inside);
    if class.over == Over::Unknown || class.letter.is_empty() {
        return;
    }
    let ink = class.fill.map_or(tokens.ink, style::text_on);
    let galley = painter.layout_no_wrap(class.letter.clone(), style::bold_of(11.0), ink);
    let text = Rect::from_center_size(place.center(), galley.size());
    if class.over != Over::Nothing {
        painter.rect_filled(text.expand2(vec2(1.0, -2.0)), 0.0, fill);
    }
    painter.galley(text.min, galley, ink);
}

/// What lies over the fill, in a rectangle.
fn pattern(painter: &Painter, place: Rect, class: &Class, tokens: &Tokens) {
    let ring = [vec![place.left_top(), place.right_top(), place.right_bottom(), place.left_bottom()]];
    let over = class.fill.map_or(tokens.ink, style::text_on);
    match class.over {
        Over::Nothing => {}
        Over::Stipple => stipple(painter, &ring, 5.0, place.min + vec2(2.0, 2.0), over.gamma_multiply(0.75)),
        Over::Hatch => hatch(painter, &ring, 6.0, place.min, Stroke::new(0.8, over.gamma_multiply(0.7))),
        Over::Unknown => hatch(painter, &ring, 8.0, place.min, Stroke::new(1.0, over.gamma_multiply(0.55))),
        Over::Rows(number) => {
            let stroke = Stroke::new(0.9, over.gamma_multiply(0.5));
            let mut y = place.top() + 3.0;
            while y < place.bottom() {
                painter.hline(place.x_range(), y, stroke);
                y += Over::row_spacing(number);
            }
        }
    }
}

/// What a column of the two-way legend means: pattern, arrow or dotted outline without a fill.
fn column_sample(painter: &Painter, place: Rect, class: &Class, tokens: &Tokens) {
    painter.rect_filled(place, 0.0, tokens.ground);
    pattern(painter, place, class, tokens);
    if class.dotted {
        let ring = [place.left_top(), place.right_top(), place.right_bottom(), place.left_bottom(), place.left_top()];
        painter.extend(egui::Shape::dashed_line(&ring, Stroke::new(1.4, tokens.ink), 2.0, 2.0));
    } else {
        painter.rect_stroke(place, 0.0, Stroke::new(1.0, tokens.ink), egui::StrokeKind::Inside);
    }
    if let Some(way) = class.way {
        painter.rect_filled(Rect::from_center_size(place.center(), vec2(9.0, 10.0)), 0.0, tokens.ground);
        draw_arrow(painter, pos2(place.center().x, place.center().y), way, tokens.ink);
    }
}

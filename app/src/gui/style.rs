//! Every colour and size of the window. Paper, ink and thin lines; strong colour belongs to data alone. Colours of data and of
//! paper are those of printed maps ([`palette`]).
//!
//! Contrast of text tokens on all three grounds is at least 4.5:1 (WCAG 2.1 relative luminance), in light and dark; class
//! steps were chosen so that neighbours stay apart under simulated protan, deutan and tritan vision and in grey.

use std::sync::Arc;

use awn_core::model::Rating;
use awn_core::report::palette::{self, Rgb};
use egui::{Color32, CornerRadius, FontFamily, FontId, Stroke, TextStyle, Theme, Vec2, Visuals};

/// Colours of one theme that are not data.
#[derive(Debug, Clone, Copy)]
pub struct Tokens {
    /// Map and window.
    pub ground: Color32,
    /// Panels.
    pub panel: Color32,
    /// Fields to type in, menus, cards.
    pub raised: Color32,
    /// Thin lines, decoration only.
    pub line: Color32,
    /// Text and field outlines.
    pub ink: Color32,
    /// Secondary text.
    pub muted: Color32,
    /// What can be pressed; focus.
    pub accent: Color32,
    /// Something to look at.
    pub warn: Color32,
    /// Something wrong.
    pub bad: Color32,
}

const LIGHT: Tokens = Tokens {
    ground: rgb(palette::GROUND),
    panel: rgb(palette::PANEL),
    raised: rgb(palette::RAISED),
    line: rgb(palette::LINE),
    ink: rgb(palette::INK),
    muted: rgb(palette::MUTED),
    accent: Color32::from_rgb(0x45, 0x49, 0x8c),
    warn: Color32::from_rgb(0x8a, 0x4b, 0x00),
    bad: Color32::from_rgb(0x8f, 0x1d, 0x2c),
};

const DARK: Tokens = Tokens {
    ground: Color32::from_rgb(0x1c, 0x1f, 0x1b),
    panel: Color32::from_rgb(0x24, 0x28, 0x23),
    raised: Color32::from_rgb(0x2d, 0x32, 0x2c),
    line: Color32::from_rgb(0x45, 0x4b, 0x43),
    ink: Color32::from_rgb(0xec, 0xea, 0xdf),
    muted: Color32::from_rgb(0xa8, 0xad, 0x9f),
    accent: Color32::from_rgb(0xb3, 0xb6, 0xf2),
    warn: Color32::from_rgb(0xf0, 0xb3, 0x5a),
    bad: Color32::from_rgb(0xf3, 0x9a, 0xa0),
};

/// The colours of a theme.
pub fn tokens(theme: Theme) -> &'static Tokens {
    match theme {
        Theme::Light => &LIGHT,
        Theme::Dark => &DARK,
    }
}

/// The colours of the theme a `Ui` is drawn in.
pub fn of(ui: &egui::Ui) -> &'static Tokens {
    tokens(if ui.visuals().dark_mode { Theme::Dark } else { Theme::Light })
}

/// Text sizes: small print, text, headings.
pub const SMALL: f32 = 13.0;
/// Body text.
pub const BODY: f32 = 15.0;
/// Headings.
pub const HEADING: f32 = 20.0;
/// Everything is spaced in steps of this.
pub const STEP: f32 = 4.0;
/// Height of a table row.
pub const ROW: f32 = 24.0;
/// Height of the bar on top.
pub const TOP_BAR: f32 = 48.0;
/// Width of the field list when the window opens.
pub const LIST_WIDTH: f32 = 384.0;
/// Width of a lens panel when the window opens.
pub const LENS_WIDTH: f32 = 360.0;
/// Width of a lens panel that holds a wide table.
pub const WIDE_LENS_WIDTH: f32 = 440.0;
/// Width of the Samples panel when the window opens.
pub const SAMPLES_WIDTH: f32 = 492.0;
/// Width of the Walk panel while plans stand side by side.
pub const COMPARING_WIDTH: f32 = 560.0;
/// The window is no narrower than this, points: text is not made larger beyond it.
pub const LEAST_WINDOW: f32 = 800.0;
/// The map is no narrower than this while panels are drawn wider.
pub const LEAST_MAP: f32 = 200.0;
/// Below this window width the field list folds to names and letters.
pub const NARROW: f32 = 1000.0;
/// From this width on lists and tables get more room.
pub const ROOMY: f32 = 1560.0;
/// How much more.
pub const MORE_ROOM: f32 = 96.0;
/// Field outline.
pub const OUTLINE: f32 = 1.2;
/// Tramline.
pub const TRAMLINE: f32 = 0.5;
/// Walk.
pub const WALK: f32 = 2.0;
/// Radius of the ring of a stop.
pub const STOP_RADIUS: f32 = 11.0;

/// Sizes of everything in the window, for eyes of all ages; 1: as large as the system asks for.
const TEXT_SIZES: [f32; 8] = [0.8, 0.9, 1.0, 1.15, 1.3, 1.5, 1.75, 2.0];

/// The size above or below; the last one goes no further.
pub fn next_size(now: f32, larger: bool) -> f32 {
    let other = |size: &&f32| if larger { **size > now + 0.01 } else { **size < now - 0.01 };
    let found = if larger { TEXT_SIZES.iter().find(other) } else { TEXT_SIZES.iter().rev().find(other) };
    found.copied().unwrap_or(now)
}

/// The name of the bold family.
pub fn bold() -> FontFamily {
    FontFamily::Name("bold".into())
}

/// A bold font of a size.
pub fn bold_of(size: f32) -> FontId {
    FontId::new(size, bold())
}

/// Colour of a rating. Untested has no colour of its own: it is drawn hatched on the ground.
pub fn rating_colour(rating: Rating) -> Color32 {
    rgb(palette::RATING[rating as usize])
}

/// Colours of years since the test, this year first; the last stands for "at or past the interval".
pub const AGE: [Color32; 6] = {
    let [a, b, c, d, e, f] = palette::AGE;
    [rgb(a), rgb(b), rgb(c), rgb(d), rgb(e), rgb(f)]
};

/// Colours of density, lowest first.
pub const DENSITY: [Color32; 5] = {
    let [a, b, c, d, e] = palette::DENSITY;
    [rgb(a), rgb(b), rgb(c), rgb(d), rgb(e)]
};

/// Colours of control left, the most first.
pub const CONTROL_LEFT: [Color32; 5] = {
    let [a, b, c, d, e] = palette::CONTROL_LEFT;
    [rgb(a), rgb(b), rgb(c), rgb(d), rgb(e)]
};

/// Colours of money at risk, the least first.
pub const AT_RISK: [Color32; 5] = {
    let [a, b, c, d, e] = palette::AT_RISK;
    [rgb(a), rgb(b), rgb(c), rgb(d), rgb(e)]
};
/// Colours of up to four lines in a chart, which also differ by stroke and letter: those of data that stand out on panels.
pub fn series(ui: &egui::Ui) -> [Color32; 4] {
    if ui.visuals().dark_mode {
        [DARK.ink, rgb(palette::AGE[3]), rgb(palette::RATING[1]), rgb(palette::DENSITY[2])]
    } else {
        [LIGHT.ink, rgb(palette::AGE[1]), rgb(palette::RATING[2]), rgb(palette::DENSITY[3])]
    }
}

/// Quiet tints of a background map: water, or other areas.
pub fn backdrop_colour(theme: Theme, water: bool) -> Color32 {
    match (theme, water) {
        (Theme::Light, true) => rgb(palette::WATER),
        (Theme::Light, false) => rgb(palette::COUNTRY),
        (Theme::Dark, true) => Color32::from_rgb(0x20, 0x2b, 0x30),
        (Theme::Dark, false) => Color32::from_rgb(0x25, 0x29, 0x22),
    }
}

/// Fields due a test.
pub const DUE: Color32 = rgb(palette::DUE);

/// Marks on colours of data, the same in both themes, and the edge that keeps them apart from any of them.
pub const DATA_INK: Color32 = rgb(palette::INK);
/// See [`DATA_INK`].
pub const DATA_PAPER: Color32 = Color32::WHITE;

const fn rgb(colour: Rgb) -> Color32 {
    Color32::from_rgb(colour[0], colour[1], colour[2])
}

/// Text on a fill of data, as on printed maps: the same in both themes.
pub fn text_on(fill: Color32) -> Color32 {
    rgb(palette::text_on([fill.r(), fill.g(), fill.b()]))
}

/// Relative luminance, WCAG 2.1.
fn luminance(colour: Color32) -> f32 {
    let linear = |channel: u8| {
        let c = f32::from(channel) / 255.0;
        if c <= 0.040_45 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
    };
    0.2126 * linear(colour.r()) + 0.7152 * linear(colour.g()) + 0.0722 * linear(colour.b())
}

/// Contrast ratio, WCAG 2.1: 1 to 21.
pub fn contrast(a: Color32, b: Color32) -> f32 {
    let (a, b) = (luminance(a) + 0.05, luminance(b) + 0.05);
    (a / b).max(b / a)
}

/// Fully see-through.
pub const NONE: Color32 = Color32::TRANSPARENT;

/// Sets fonts, sizes and both themes.
pub fn apply(ctx: &egui::Context) {
    ctx.set_fonts(fonts());
    // Ctrl with plus and minus zooms the map; the size of text has keys of its own.
    ctx.options_mut(|options| options.zoom_with_keyboard = false);
    for theme in [Theme::Light, Theme::Dark] {
        ctx.style_mut_of(theme, |style| {
            style.visuals = visuals(theme);
            style.text_styles = [
                (TextStyle::Small, FontId::new(SMALL, FontFamily::Proportional)),
                (TextStyle::Body, FontId::new(BODY, FontFamily::Proportional)),
                (TextStyle::Button, FontId::new(BODY, FontFamily::Proportional)),
                (TextStyle::Heading, bold_of(HEADING)),
                (TextStyle::Monospace, FontId::new(BODY, FontFamily::Proportional)),
            ]
            .into();
            style.spacing.item_spacing = Vec2::new(2.0 * STEP, 1.5 * STEP);
            style.spacing.button_padding = Vec2::new(3.0 * STEP, STEP);
            style.spacing.interact_size.y = 6.0 * STEP;
            style.spacing.scroll = egui::style::ScrollStyle::thin();
            style.spacing.scroll.foreground_color = false;
            style.interaction.selectable_labels = false;
            style.animation_time = 0.0;
        });
    }
}

fn fonts() -> egui::FontDefinitions {
    let mut fonts = egui::FontDefinitions::empty();
    // The font's line is taller below the letters than above them; shifted, letters stand in the middle of buttons and rows.
    let tweak = egui::FontTweak { y_offset_factor: 0.09, ..Default::default() };
    let regular = egui::FontData::from_static(include_bytes!("../../../assets/fonts/Lato-Regular.ttf")).tweak(tweak.clone());
    let heavy = egui::FontData::from_static(include_bytes!("../../../assets/fonts/Lato-Bold.ttf")).tweak(tweak);
    let others = egui::FontData::from_static(include_bytes!("../../../assets/fonts/DroidSansFallback.ttf"));
    fonts.font_data.insert("lato".into(), Arc::new(regular));
    fonts.font_data.insert("lato-bold".into(), Arc::new(heavy));
    // For Chinese, Japanese and Korean letters, as on paper.
    fonts.font_data.insert("others".into(), Arc::new(others));
    fonts.families.insert(FontFamily::Proportional, vec!["lato".into(), "others".into()]);
    fonts.families.insert(FontFamily::Monospace, vec!["lato".into(), "others".into()]);
    fonts.families.insert(bold(), vec!["lato-bold".into(), "others".into()]);
    fonts
}

fn visuals(theme: Theme) -> Visuals {
    let t = tokens(theme);
    let mut v = if theme == Theme::Dark { Visuals::dark() } else { Visuals::light() };
    let round = CornerRadius::same(2);
    v.panel_fill = t.panel;
    v.window_fill = t.raised;
    v.window_stroke = Stroke::new(1.0, t.line);
    v.window_corner_radius = round;
    v.menu_corner_radius = round;
    v.window_shadow = egui::Shadow::NONE;
    v.popup_shadow = egui::Shadow { offset: [0, 2], blur: 8, spread: 0, color: t.ink.gamma_multiply(0.15) };
    v.extreme_bg_color = t.raised;
    v.text_edit_bg_color = Some(t.raised);
    v.faint_bg_color = t.ground;
    v.code_bg_color = t.ground;
    v.hyperlink_color = t.accent;
    v.warn_fg_color = t.warn;
    v.error_fg_color = t.bad;
    v.weak_text_color = Some(t.muted);
    v.selection.bg_fill = t.accent.gamma_multiply(0.22);
    v.selection.stroke = Stroke::new(1.0, t.ink);
    v.striped = false;
    v.widgets.noninteractive.bg_fill = t.panel;
    v.widgets.noninteractive.weak_bg_fill = t.panel;
    v.widgets.noninteractive.bg_stroke = Stroke::new(1.0, t.line);
    v.widgets.noninteractive.fg_stroke = Stroke::new(1.0, t.ink);
    v.widgets.noninteractive.corner_radius = round;
    for (widget, edge) in [
        (&mut v.widgets.inactive, t.line),
        (&mut v.widgets.hovered, t.accent),
        (&mut v.widgets.active, t.ink),
        (&mut v.widgets.open, t.ink),
    ] {
        widget.bg_fill = t.raised;
        widget.weak_bg_fill = t.raised;
        widget.bg_stroke = Stroke::new(1.0, edge);
        widget.fg_stroke = Stroke::new(1.0, t.accent);
        widget.corner_radius = round;
        widget.expansion = 0.0;
    }
    v.widgets.active.fg_stroke.color = t.ink;
    v
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_text_can_be_read() {
        // 4.5:1 is the limit for text of WCAG 2.1, success criterion 1.4.3.
        for t in [&LIGHT, &DARK] {
            for ground in [t.ground, t.panel, t.raised] {
                for text in [t.ink, t.muted, t.accent, t.warn, t.bad] {
                    assert!(contrast(text, ground) >= 4.5, "{text:?} on {ground:?}: {}", contrast(text, ground));
                }
            }
        }
        for (theme, t) in [(Theme::Light, &LIGHT), (Theme::Dark, &DARK)] {
            // The button of the next step, and a row that is chosen.
            assert!(contrast(t.ground, t.accent) >= 4.5, "{theme:?}");
            for under in [t.panel, t.raised, t.ground] {
                let chosen = under.blend(visuals(theme).selection.bg_fill);
                assert!(contrast(t.ink, chosen) >= 4.5, "{theme:?} {chosen:?}: {}", contrast(t.ink, chosen));
            }
        }
        let ratings = Rating::ALL.map(rating_colour);
        for fill in ratings.iter().chain(&AGE).chain(&DENSITY).chain(&CONTROL_LEFT).chain(&AT_RISK) {
            assert!(contrast(text_on(*fill), *fill) >= 4.5, "{fill:?}: {}", contrast(text_on(*fill), *fill));
        }
    }

    #[test]
    fn contrast_of_black_and_white_is_21() {
        // The greatest contrast there is, by the definition in WCAG 2.1.
        assert!((contrast(Color32::BLACK, Color32::WHITE) - 21.0).abs() < 1e-3);
    }
}

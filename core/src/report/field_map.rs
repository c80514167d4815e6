//! The map of one field for the hand: outline, tramlines, gates, no-go areas, the walk and the stops numbered in walking order.

use std::sync::Arc;

use geo::{Coord, Rect};

use crate::model::{Field, Plan, Records};
use crate::report::classes::{Class, Key, Over};
use crate::report::draw::Scene;
use crate::report::dress::{Layer, Layers};
use crate::report::panels::lay_out;
use crate::report::{furniture, lettering, palette, patterns, svg, walk_layer};

/// Room under the field for scale bar and north mark, mm.
const FOOT_MM: f64 = 10.0;

/// The map as SVG text of a size in mm; letters are as large as on the page.
pub fn field_map_svg(records: &Records, field: &Arc<Field>, plan: Option<&Plan>, (width, height): (f64, f64)) -> String {
    let frame = Rect::new(Coord { x: 0.0, y: -4.0 }, Coord { x: width, y: height - FOOT_MM });
    let layout = lay_out(records, std::slice::from_ref(field), frame);
    let mut key = Key::new("", vec![Class::new("", "field", palette::RAISED, Over::Nothing)]);
    key.put(field, 0, Over::Nothing, String::new());
    let layers = Layers::of(&[Layer::Fills, Layer::Tramlines, Layer::NoGo, Layer::Outlines, Layer::Gates]);
    let scene = Scene { records, layout: &layout, key: &key, layers: &layers };
    let mut body = String::new();
    for panel in &layout.panels {
        body.extend(layers.each().map(|(layer, _)| scene.layer(panel, layer)));
        if let Some(plan) = plan {
            body.push_str(&walk_layer::walk(&layout, panel, plan, true));
            body.push_str(&walk_layer::stops(&layout, panel, plan, true));
        }
    }
    body.push_str(&furniture::scale_bar(layout.mm_per_m, 1.0, Coord { x: 14.0, y: height - 5.5 }, 50.0));
    body.push_str(&furniture::north(Coord { x: 5.0, y: height - 7.5 }));
    let [w, h] = [width, height].map(svg::number);
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}mm\" height=\"{h}mm\" viewBox=\"0 0 {w} {h}\" \
         font-family=\"{}\">\n{}{body}</svg>\n",
        lettering::FAMILY,
        patterns::definitions()
    )
}

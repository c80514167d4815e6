//! Draws a background from a PMTiles file into pictures, for looking at: `cargo run -p awn-tests --example backdrop_look -- FILE LON LAT FOLDER`.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // stopping with a sentence is the answer here

use std::path::PathBuf;

use awn::backdrop::Background;
use awn::gui::request::Request;
use awn_tests::window::window_in;
use egui::Theme;

fn main() {
    let asked: Vec<String> = std::env::args().skip(1).collect();
    let [file, lon, lat, folder] = &asked[..] else { panic!("FILE LON LAT FOLDER") };
    let (lon, lat): (f64, f64) = (lon.parse().unwrap(), lat.parse().unwrap());
    let folder = PathBuf::from(folder);
    std::fs::create_dir_all(&folder).unwrap();
    // A field of about 40 ha round the place, so that there is a project to look at.
    let (x, y) = (0.0048, 0.0029);
    let ring = format!(
        "[[{},{}],[{},{}],[{},{}],[{},{}],[{},{}]]",
        lon - x,
        lat - y,
        lon + x,
        lat - y,
        lon + x,
        lat + y,
        lon - x,
        lat + y,
        lon - x,
        lat - y
    );
    let text = format!(
        r#"{{"type":"Feature","properties":{{"name":"Here"}},"geometry":{{"type":"Polygon","coordinates":{ring}}}}}"#
    );
    let boundary = folder.join("here.geojson");
    std::fs::write(&boundary, text).unwrap();
    for (name, theme, pixels) in [("light", Theme::Light, 1.0), ("dark", Theme::Dark, 1.5)] {
        let project = folder.join(format!("{name}.gpkg"));
        std::fs::remove_file(&project).ok();
        let mut window = window_in([1280.0, 720.0], vec![boundary.clone(), project], theme, pixels);
        window.state().ask(Request::Do(awn::gui::action::Action::StartFromBoundaries));
        window.run();
        window.state().ask(Request::Import);
        window.run();
        window.state().ask(Request::SetBackground(Background::of_file(PathBuf::from(file))));
        // Tiles come on their own thread.
        for _ in 0..40 {
            window.run_steps(1);
            std::thread::sleep(std::time::Duration::from_millis(50));
        }
        window.render().unwrap().save(folder.join(format!("backdrop-{name}.png"))).unwrap();
    }
}

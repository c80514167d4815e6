//! Files that the command line and the window write alike.

use std::path::Path;

use anyhow::{Context as _, anyhow, bail};
use awn_core::exchange::{self, DataFormat, Extent};
use awn_core::model::Records;
use awn_core::report::{self, Cover, Dress, MapRequest};

use super::today;

/// A map in the format that the file's name asks for, and what is not as it should be in it.
pub fn drawing(
    records: &Records,
    request: &MapRequest,
    dress: &Dress,
    file: &Path,
    dpi: f64,
) -> anyhow::Result<(Vec<u8>, Vec<String>)> {
    let ending = file.extension().map(|extension| extension.to_string_lossy().to_lowercase()).unwrap_or_default();
    match ending.as_str() {
        "svg" | "pdf" => {}
        "png" if (30.0..=1200.0).contains(&dpi) => {}
        "png" => bail!("{dpi} dots per inch cannot be drawn; give --dpi from 30 to 1200"),
        _ => bail!("the name must end in .png, .svg or .pdf, so that the format is clear: {}", file.display()),
    }
    let mut drawing = report::draw_map(records, request, dress);
    let faults = std::mem::take(&mut drawing.faults);
    let bytes = match ending.as_str() {
        "svg" => Ok(drawing.svg.into_bytes()),
        "pdf" => report::drawing_pdf(records, request, drawing, dress.date.or_else(today).unwrap_or_default()),
        _ => report::drawing_png(&drawing, dpi),
    };
    Ok((bytes.map_err(|error| anyhow!(error))?, faults))
}

/// Writes all data to a file; a set of CSV files goes into a folder, or into one archive if the name ends in .zip. Gives the number
/// of files.
pub fn write_data(records: &Records, extent: Extent, format: DataFormat, output: &Path) -> anyhow::Result<usize> {
    let files = exchange::everything(records, extent, format).map_err(|error| anyhow!(error))?;
    let zipped = output.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("zip"));
    match files.as_slice() {
        [(name, bytes)] if name.is_empty() => write(output, bytes)?,
        files if zipped => write(output, &exchange::zipped(files).map_err(|error| anyhow!(error))?)?,
        files => {
            std::fs::create_dir_all(output).with_context(|| format!("{} cannot be made", output.display()))?;
            files.iter().try_for_each(|(name, bytes)| write(&output.join(name), bytes))?;
        }
    }
    Ok(files.len())
}

/// A picture file for the cover.
pub fn picture(file: &Path) -> anyhow::Result<Cover> {
    let bytes = std::fs::read(file).with_context(|| format!("{} cannot be read", file.display()))?;
    let ending = file.extension().map(|ending| ending.to_string_lossy().to_lowercase()).unwrap_or_default();
    Ok(Cover { ending, bytes })
}

/// Writes a file under another name first, so that no half-written one is ever seen.
pub fn write(file: &Path, bytes: &[u8]) -> anyhow::Result<()> {
    let name = file.file_name().ok_or_else(|| anyhow!("{} names no file", file.display()))?;
    let unfinished = file.with_file_name(format!(".{}.unfinished", name.to_string_lossy()));
    std::fs::write(&unfinished, bytes)
        .and_then(|()| std::fs::rename(&unfinished, file))
        .with_context(|| format!("{} could not be written", file.display()))
}

//! File versions: older files are brought up step by step on a copy, newer ones refused.

use std::path::Path;

use rusqlite::Connection;

use crate::model::modes_of_action;
use crate::project::store::file_error;
use crate::project::{ProjectError, schema};

/// A step from one file version to the next.
type UpgradeStep = fn(&Connection) -> rusqlite::Result<()>;

/// Step `i` takes a file of version `i + 1` to `i + 2`.
const STEPS: &[UpgradeStep] = &[planner, laboratory, treatments, outlook, season, former_shapes, envelopes];

/// New columns get what a record of version 1 reads as in the history, so that its edits can still be undone.
///
/// 2: several sets of tramlines, rasters, plans with two walks, pinned stops, samples by patch, plans set aside.
fn planner(connection: &Connection) -> rusqlite::Result<()> {
    connection.execute_batch(
        "ALTER TABLE tramlines ADD COLUMN area TEXT;
         ALTER TABLE tramlines ADD COLUMN lines TEXT;
         UPDATE tramlines SET area = 'null', lines = '[]';
         ALTER TABLE plans ADD COLUMN advice TEXT;
         ALTER TABLE plans ADD COLUMN patches_hold INTEGER;
         ALTER TABLE plans ADD COLUMN estimate TEXT;
         ALTER TABLE plans ADD COLUMN set_aside BOOLEAN;
         UPDATE plans SET advice = '', set_aside = 0;
         ALTER TABLE stops ADD COLUMN pinned BOOLEAN;
         ALTER TABLE stops ADD COLUMN person INTEGER;
         ALTER TABLE stops ADD COLUMN sample INTEGER;
         ALTER TABLE stops ADD COLUMN inclusion DOUBLE;
         UPDATE stops SET pinned = 0, person = 1, sample = 1;
         ALTER TABLE walks ADD COLUMN person INTEGER;
         UPDATE walks SET person = 1;
         ALTER TABLE patches ADD COLUMN greatest_density DOUBLE;
         ALTER TABLE patches ADD COLUMN patch_group INTEGER;
         UPDATE patches SET greatest_density = 0, patch_group = 1;",
    )?;
    schema::table("scout_rasters").map_or(Ok(()), |table| schema::create_table(connection, table))
}

/// 3: laboratory, day and comment of assays, standards of their own, what was rated, and counts or weights pot by pot.
fn laboratory(connection: &Connection) -> rusqlite::Result<()> {
    connection.execute_batch(
        "ALTER TABLE assays ADD COLUMN date DATE;
         ALTER TABLE assays ADD COLUMN laboratory TEXT;
         ALTER TABLE assays ADD COLUMN comment TEXT;
         UPDATE assays SET laboratory = '', comment = '';
         ALTER TABLE results ADD COLUMN hrac_legacy TEXT;
         ALTER TABLE results ADD COLUMN hrac_table INTEGER;
         ALTER TABLE results ADD COLUMN measure TEXT;
         ALTER TABLE results ADD COLUMN raw TEXT;
         ALTER TABLE results ADD COLUMN comment TEXT;
         UPDATE results SET hrac_table = 2020, comment = '';",
    )?;
    for mode in modes_of_action() {
        connection.execute("UPDATE results SET hrac_legacy = ?1 WHERE hrac_group = ?2", [mode.legacy, mode.group])?;
    }
    schema::table("standards").map_or(Ok(()), |table| schema::create_table(connection, table))
}

/// 4: growth stage and cost of sprays, cultivation before crops, spray programmes and what is planned in fields.
fn treatments(connection: &Connection) -> rusqlite::Result<()> {
    connection.execute_batch(
        "ALTER TABLE crops ADD COLUMN cultivation TEXT;
         UPDATE crops SET cultivation = '';
         ALTER TABLE sprays ADD COLUMN growth_stage TEXT;
         ALTER TABLE sprays ADD COLUMN cost_per_ha DOUBLE;
         UPDATE sprays SET growth_stage = '';",
    )?;
    for name in ["programmes", "field_programmes"] {
        schema::table(name).map_or(Ok(()), |table| schema::create_table(connection, table))?;
    }
    Ok(())
}

/// 5: scenarios of the coming years.
fn outlook(connection: &Connection) -> rusqlite::Result<()> {
    schema::table("scenarios").map_or(Ok(()), |table| schema::create_table(connection, table))
}

/// 6: fields pinned or vetoed, ripeness checks, rounds.
fn season(connection: &Connection) -> rusqlite::Result<()> {
    let tables = ["due_marks", "ripeness_checks", "rounds", "round_visits"];
    tables.iter().filter_map(|name| schema::table(name)).try_for_each(|table| schema::create_table(connection, table))
}

/// 7: what fields were before an edge moved or they were renamed.
fn former_shapes(connection: &Connection) -> rusqlite::Result<()> {
    connection.execute_batch("ALTER TABLE fields ADD COLUMN former TEXT; UPDATE fields SET former = '[]';")
}

/// 8: stages, seed and tests wanted of samples, and walks as they were walked. Samples of before have no stages: what became of them
/// follows from their day and their results.
fn envelopes(connection: &Connection) -> rusqlite::Result<()> {
    connection.execute_batch(
        "ALTER TABLE samples ADD COLUMN unit INTEGER;
         ALTER TABLE samples ADD COLUMN species TEXT;
         ALTER TABLE samples ADD COLUMN patches TEXT;
         ALTER TABLE samples ADD COLUMN mugs DOUBLE;
         ALTER TABLE samples ADD COLUMN shed_percent DOUBLE;
         ALTER TABLE samples ADD COLUMN weather TEXT;
         ALTER TABLE samples ADD COLUMN stands_for_percent DOUBLE;
         ALTER TABLE samples ADD COLUMN tests TEXT;
         ALTER TABLE samples ADD COLUMN actives TEXT;
         UPDATE samples SET unit = 1, species = 'ALOMY', patches = '', weather = '', tests = '[]', actives = '';",
    )?;
    let tables = ["sample_stages", "walked"].into_iter().filter_map(schema::table);
    tables.into_iter().try_for_each(|table| schema::create_table(connection, table))
}

/// The file version this program writes.
pub(super) const KNOWN: i64 = STEPS.len() as i64 + 1;

/// Brings a file of version `found` to [`KNOWN`]; the file as it was stays beside it as `NAME.vN.gpkg`.
pub(super) fn upgrade(path: &Path, found: i64) -> Result<(), ProjectError> {
    upgrade_by(path, found, STEPS)
}

fn upgrade_by(path: &Path, found: i64, steps: &[UpgradeStep]) -> Result<(), ProjectError> {
    let known = steps.len() as i64 + 1;
    if found > known {
        return Err(ProjectError::Newer { path: path.to_owned(), found, known });
    }
    if found < 1 {
        return Err(ProjectError::Damaged {
            place: "awn_meta, schema_version".into(),
            what: format!("{found} is no version"),
        });
    }
    if found == known {
        return Ok(());
    }
    let copy = path.with_extension("upgrading");
    std::fs::copy(path, &copy).map_err(|error| file_error(path, error))?;
    let connection = Connection::open(&copy).map_err(|error| file_error(&copy, error))?;
    let run = || -> rusqlite::Result<()> {
        connection.execute_batch("BEGIN")?;
        for step in &steps[(found - 1) as usize..] {
            step(&connection)?;
        }
        connection.execute("UPDATE awn_meta SET value = ?1 WHERE key = 'schema_version'", [known.to_string()])?;
        connection.execute_batch("COMMIT")
    };
    run().map_err(|error| file_error(&copy, error))?;
    drop(connection);
    let kept = path.with_extension(format!("v{found}.gpkg"));
    std::fs::rename(path, kept).map_err(|error| file_error(path, error))?;
    std::fs::rename(&copy, path).map_err(|error| file_error(path, error))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn file_of_version(folder: &Path, version: i64) -> std::path::PathBuf {
        let path = folder.join("farm.gpkg");
        let connection = Connection::open(&path).unwrap();
        connection.execute_batch("CREATE TABLE awn_meta (key TEXT, value TEXT); CREATE TABLE fields (name TEXT);").unwrap();
        connection.execute("INSERT INTO awn_meta VALUES ('schema_version', ?1)", [version.to_string()]).unwrap();
        path
    }

    const ADD: UpgradeStep = |connection| connection.execute_batch("ALTER TABLE fields ADD COLUMN soil TEXT");
    const FILL: UpgradeStep = |connection| connection.execute_batch("INSERT INTO fields VALUES ('Long Acre', 'clay')");

    #[test]
    fn steps_run_in_order_and_the_old_file_is_kept() {
        let folder = std::env::temp_dir().join(format!("awn-upgrade-{}", std::process::id()));
        std::fs::create_dir_all(&folder).unwrap();
        let path = file_of_version(&folder, 1);
        upgrade_by(&path, 1, &[ADD, FILL]).unwrap();
        let connection = Connection::open(&path).unwrap();
        let soil: String = connection.query_row("SELECT soil FROM fields", [], |row| row.get(0)).unwrap();
        assert_eq!(soil, "clay");
        assert!(folder.join("farm.v1.gpkg").exists());
        assert!(matches!(upgrade_by(&path, 4, &[ADD, FILL]), Err(ProjectError::Newer { found: 4, known: 3, .. })));
        std::fs::remove_dir_all(folder).unwrap();
    }

    #[test]
    fn a_step_that_fails_leaves_the_file_as_it_was() {
        let folder = std::env::temp_dir().join(format!("awn-upgrade-fail-{}", std::process::id()));
        std::fs::create_dir_all(&folder).unwrap();
        let path = file_of_version(&folder, 1);
        let before = std::fs::read(&path).unwrap();
        let fails: UpgradeStep = |connection| connection.execute_batch("ALTER TABLE nowhere ADD COLUMN soil TEXT");
        assert!(upgrade_by(&path, 1, &[ADD, fails]).is_err());
        assert_eq!(std::fs::read(&path).unwrap(), before);
        std::fs::remove_dir_all(folder).unwrap();
    }
}

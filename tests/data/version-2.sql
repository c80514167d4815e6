-- A project as version 2 of the file format wrote it: one field, two samples, two assays a year and three results with the laboratory's ratings.
PRAGMA foreign_keys = OFF;
PRAGMA application_id = 1196444487;
PRAGMA user_version = 10300;
BEGIN TRANSACTION;
CREATE TABLE assays (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, id TEXT NOT NULL, kind TEXT, year INTEGER, source TEXT);
INSERT INTO "assays" VALUES(1,'01a212f0-1514-745d-bd0f-9cfb80ad4a42','pot',2024,'results.csv');
INSERT INTO "assays" VALUES(2,'01a212f0-1514-745d-bd0f-9cfd2e2125af','petri',2024,'results.csv');
INSERT INTO "assays" VALUES(3,'01a212f0-1514-745d-bd0f-9d006f9215e2','petri',2026,'results.csv');
CREATE TABLE awn_history (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, id TEXT NOT NULL, position INTEGER, name TEXT, made TEXT, command TEXT);
INSERT INTO "awn_history" VALUES(1,'01a212f0-150a-74d9-abfc-25e290a40459',0,'Add 1 field','2026-11-25T13:40:53.642280961Z','{"name":"Add 1 field","changes":[{"before":null,"after":{"kind":"farm","record":{"id":"01a212f0-150a-74d9-abfc-25e0ac49f5c2","business":"","name":"Sallowby"}}},{"before":null,"after":{"kind":"field","record":{"id":"01a212f0-150a-74d9-abfc-25e1c50b5eeb","farm":"01a212f0-150a-74d9-abfc-25e0ac49f5c2","name":"Long Acre","boundary":[{"exterior":[{"x":-0.41,"y":52.7},{"x":-0.405,"y":52.7},{"x":-0.405,"y":52.703},{"x":-0.41,"y":52.703},{"x":-0.41,"y":52.7}],"interiors":[]}],"from_year":null,"until_year":null,"came_from":[],"note":""}}}]}');
INSERT INTO "awn_history" VALUES(2,'01a212f0-1514-745d-bd0f-9d024c539a3e',1,'Add results','2026-11-25T13:40:53.652202141Z','{"name":"Add results","changes":[{"before":null,"after":{"kind":"sample","record":{"id":"01a212f0-1514-745d-bd0f-9cfa90a57530","code":"SB-1","field":"01a212f0-150a-74d9-abfc-25e1c50b5eeb","year":2024,"taken":null,"plan":null,"note":""}}},{"before":null,"after":{"kind":"assay","record":{"id":"01a212f0-1514-745d-bd0f-9cfb80ad4a42","kind":"pot","year":2024,"source":"results.csv"}}},{"before":null,"after":{"kind":"result","record":{"id":"01a212f0-1514-745d-bd0f-9cfc1ec08d08","sample":"01a212f0-1514-745d-bd0f-9cfa90a57530","assay":"01a212f0-1514-745d-bd0f-9cfb80ad4a42","active":"mesosulfuron+iodosulfuron","group":"2","reduction":41.5,"standard":93.0,"se":4.2,"n":30,"dose":"15 g/ha","lab_rating":"RR"}}},{"before":null,"after":{"kind":"assay","record":{"id":"01a212f0-1514-745d-bd0f-9cfd2e2125af","kind":"petri","year":2024,"source":"results.csv"}}},{"before":null,"after":{"kind":"result","record":{"id":"01a212f0-1514-745d-bd0f-9cfe68ea6136","sample":"01a212f0-1514-745d-bd0f-9cfa90a57530","assay":"01a212f0-1514-745d-bd0f-9cfd2e2125af","active":"cycloxydim","group":"1","reduction":88.0,"standard":92.0,"se":null,"n":100,"dose":null,"lab_rating":"S"}}},{"before":null,"after":{"kind":"sample","record":{"id":"01a212f0-1514-745d-bd0f-9cffa46382d3","code":"SB-2","field":"01a212f0-150a-74d9-abfc-25e1c50b5eeb","year":2026,"taken":null,"plan":null,"note":""}}},{"before":null,"after":{"kind":"assay","record":{"id":"01a212f0-1514-745d-bd0f-9d006f9215e2","kind":"petri","year":2026,"source":"results.csv"}}},{"before":null,"after":{"kind":"result","record":{"id":"01a212f0-1514-745d-bd0f-9d01bf57f2ac","sample":"01a212f0-1514-745d-bd0f-9cffa46382d3","assay":"01a212f0-1514-745d-bd0f-9d006f9215e2","active":"pendimethalin","group":"3","reduction":60.0,"standard":90.0,"se":null,"n":null,"dose":"5 ppm","lab_rating":"R?"}}}]}');
CREATE TABLE awn_meta (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, key TEXT NOT NULL UNIQUE, value TEXT);
INSERT INTO "awn_meta" VALUES(1,'schema_version','2');
INSERT INTO "awn_meta" VALUES(2,'history_done','2');
INSERT INTO "awn_meta" VALUES(3,'settings','{}');
CREATE TABLE crops (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, id TEXT NOT NULL, field TEXT, year INTEGER, crop TEXT, drilled DATE);
CREATE TABLE farms (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, id TEXT NOT NULL, business TEXT, name TEXT);
INSERT INTO "farms" VALUES(1,'01a212f0-150a-74d9-abfc-25e0ac49f5c2','','Sallowby');
CREATE TABLE fields (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, id TEXT NOT NULL, geom MULTIPOLYGON, farm TEXT, farm_name TEXT, name TEXT, area_ha DOUBLE, from_year INTEGER, until_year INTEGER, came_from TEXT, note TEXT);
INSERT INTO "fields" VALUES(1,'01a212f0-150a-74d9-abfc-25e1c50b5eeb',X'47500003E61000003D0AD7A3703DDABFEC51B81E85EBD9BF9A99999999594A40448B6CE7FB594A40010600000001000000010300000001000000050000003D0AD7A3703DDABF9A99999999594A40EC51B81E85EBD9BF9A99999999594A40EC51B81E85EBD9BF448B6CE7FB594A403D0AD7A3703DDABF448B6CE7FB594A403D0AD7A3703DDABF9A99999999594A40','01a212f0-150a-74d9-abfc-25e0ac49f5c2','Sallowby','Long Acre',1.12837463222503657793e+01,NULL,NULL,'[]','');
CREATE TABLE gates (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, id TEXT NOT NULL, geom POINT, field TEXT, name TEXT);
CREATE TABLE gpkg_contents (
             table_name TEXT NOT NULL PRIMARY KEY, data_type TEXT NOT NULL, identifier TEXT UNIQUE,
             description TEXT DEFAULT '', last_change DATETIME NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now')),
             min_x DOUBLE, min_y DOUBLE, max_x DOUBLE, max_y DOUBLE, srs_id INTEGER,
             CONSTRAINT fk_gc_r_srs_id FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys(srs_id));
INSERT INTO "gpkg_contents" VALUES('farms','attributes','farms','Farms','2026-11-25T13:40:53.642Z',NULL,NULL,NULL,NULL,NULL);
INSERT INTO "gpkg_contents" VALUES('fields','features','fields','Field boundaries','2026-11-25T13:40:53.642Z',-0.41,52.7,-0.405,52.703,4326);
INSERT INTO "gpkg_contents" VALUES('gates','features','gates','Gates','2026-11-25T13:40:53.630Z',NULL,NULL,NULL,NULL,4326);
INSERT INTO "gpkg_contents" VALUES('no_go_areas','features','no_go_areas','Areas without stops and walks','2026-11-25T13:40:53.630Z',NULL,NULL,NULL,NULL,4326);
INSERT INTO "gpkg_contents" VALUES('tramlines','features','tramlines','Tramline sets: anchor, bearing from true north, spacing','2026-11-25T13:40:53.630Z',NULL,NULL,NULL,NULL,4326);
INSERT INTO "gpkg_contents" VALUES('surveys','attributes','surveys','Scouting surveys','2026-11-25T13:40:53.630Z',NULL,NULL,NULL,NULL,NULL);
INSERT INTO "gpkg_contents" VALUES('scout_points','features','scout_points','Scouting values at points; id is the survey''s','2026-11-25T13:40:53.630Z',NULL,NULL,NULL,NULL,4326);
INSERT INTO "gpkg_contents" VALUES('scout_zones','features','scout_zones','Scouting values of areas; id is the survey''s','2026-11-25T13:40:53.630Z',NULL,NULL,NULL,NULL,4326);
INSERT INTO "gpkg_contents" VALUES('scout_rasters','features','scout_rasters','Scouting values as pixels, row by row from the top left, 32-bit little-endian floats, below 0 where there is none; id is the survey''s','2026-11-25T13:40:53.630Z',NULL,NULL,NULL,NULL,4326);
INSERT INTO "gpkg_contents" VALUES('plans','attributes','plans','Sampling plans','2026-11-25T13:40:53.630Z',NULL,NULL,NULL,NULL,NULL);
INSERT INTO "gpkg_contents" VALUES('stops','features','stops','Stops of plans in walking order; id is the plan''s','2026-11-25T13:40:53.630Z',NULL,NULL,NULL,NULL,4326);
INSERT INTO "gpkg_contents" VALUES('walks','features','walks','Walks of plans; id is the plan''s','2026-11-25T13:40:53.631Z',NULL,NULL,NULL,NULL,4326);
INSERT INTO "gpkg_contents" VALUES('patches','features','patches','Patches of plans; id is the plan''s','2026-11-25T13:40:53.631Z',NULL,NULL,NULL,NULL,4326);
INSERT INTO "gpkg_contents" VALUES('samples','attributes','samples','Seed samples','2026-11-25T13:40:53.652Z',NULL,NULL,NULL,NULL,NULL);
INSERT INTO "gpkg_contents" VALUES('assays','attributes','assays','Assays','2026-11-25T13:40:53.652Z',NULL,NULL,NULL,NULL,NULL);
INSERT INTO "gpkg_contents" VALUES('results','attributes','results','Test results','2026-11-25T13:40:53.652Z',NULL,NULL,NULL,NULL,NULL);
INSERT INTO "gpkg_contents" VALUES('crops','attributes','crops','Crops by field and harvest year','2026-11-25T13:40:53.631Z',NULL,NULL,NULL,NULL,NULL);
INSERT INTO "gpkg_contents" VALUES('sprays','attributes','sprays','Herbicide passes','2026-11-25T13:40:53.631Z',NULL,NULL,NULL,NULL,NULL);
INSERT INTO "gpkg_contents" VALUES('awn_history','attributes','awn_history','Edits, for undo and redo','2026-11-25T13:40:53.631Z',NULL,NULL,NULL,NULL,NULL);
INSERT INTO "gpkg_contents" VALUES('awn_meta','attributes','awn_meta','Settings and file version','2026-11-25T13:40:53.631Z',NULL,NULL,NULL,NULL,NULL);
CREATE TABLE gpkg_geometry_columns (
             table_name TEXT NOT NULL, column_name TEXT NOT NULL, geometry_type_name TEXT NOT NULL, srs_id INTEGER NOT NULL,
             z TINYINT NOT NULL, m TINYINT NOT NULL,
             CONSTRAINT pk_geom_cols PRIMARY KEY (table_name, column_name), CONSTRAINT uk_gc_table_name UNIQUE (table_name),
             CONSTRAINT fk_gc_tn FOREIGN KEY (table_name) REFERENCES gpkg_contents(table_name),
             CONSTRAINT fk_gc_srs FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys (srs_id));
INSERT INTO "gpkg_geometry_columns" VALUES('fields','geom','MULTIPOLYGON',4326,0,0);
INSERT INTO "gpkg_geometry_columns" VALUES('gates','geom','POINT',4326,0,0);
INSERT INTO "gpkg_geometry_columns" VALUES('no_go_areas','geom','MULTIPOLYGON',4326,0,0);
INSERT INTO "gpkg_geometry_columns" VALUES('tramlines','geom','POINT',4326,0,0);
INSERT INTO "gpkg_geometry_columns" VALUES('scout_points','geom','POINT',4326,0,0);
INSERT INTO "gpkg_geometry_columns" VALUES('scout_zones','geom','MULTIPOLYGON',4326,0,0);
INSERT INTO "gpkg_geometry_columns" VALUES('scout_rasters','geom','POLYGON',4326,0,0);
INSERT INTO "gpkg_geometry_columns" VALUES('stops','geom','POINT',4326,0,0);
INSERT INTO "gpkg_geometry_columns" VALUES('walks','geom','LINESTRING',4326,0,0);
INSERT INTO "gpkg_geometry_columns" VALUES('patches','geom','MULTIPOLYGON',4326,0,0);
CREATE TABLE gpkg_spatial_ref_sys (
             srs_name TEXT NOT NULL, srs_id INTEGER PRIMARY KEY, organization TEXT NOT NULL,
             organization_coordsys_id INTEGER NOT NULL, definition TEXT NOT NULL, description TEXT);
INSERT INTO "gpkg_spatial_ref_sys" VALUES('Undefined Cartesian SRS',-1,'NONE',-1,'undefined',NULL);
INSERT INTO "gpkg_spatial_ref_sys" VALUES('Undefined geographic SRS',0,'NONE',0,'undefined',NULL);
INSERT INTO "gpkg_spatial_ref_sys" VALUES('WGS 84 geodetic',4326,'EPSG',4326,'GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563,AUTHORITY["EPSG","7030"]],AUTHORITY["EPSG","6326"]],PRIMEM["Greenwich",0,AUTHORITY["EPSG","8901"]],UNIT["degree",0.0174532925199433,AUTHORITY["EPSG","9122"]],AUTHORITY["EPSG","4326"]]',NULL);
CREATE TABLE no_go_areas (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, id TEXT NOT NULL, geom MULTIPOLYGON, field TEXT, reason TEXT);
CREATE TABLE patches (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, id TEXT NOT NULL, geom MULTIPOLYGON, number INTEGER, area_m2 DOUBLE, mean_density DOUBLE, population_share DOUBLE, greatest_density DOUBLE, patch_group INTEGER);
CREATE TABLE plans (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, id TEXT NOT NULL, field TEXT, year INTEGER, method TEXT, settings TEXT, figures TEXT, gate_figures TEXT, gate_lon DOUBLE, gate_lat DOUBLE, notes TEXT, advice TEXT, patches_hold INTEGER, estimate TEXT, set_aside BOOLEAN);
CREATE TABLE results (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, id TEXT NOT NULL, sample TEXT, assay TEXT, active TEXT, hrac_group TEXT, reduction DOUBLE, standard DOUBLE, se DOUBLE, n INTEGER, dose TEXT, lab_rating TEXT);
INSERT INTO "results" VALUES(1,'01a212f0-1514-745d-bd0f-9cfc1ec08d08','01a212f0-1514-745d-bd0f-9cfa90a57530','01a212f0-1514-745d-bd0f-9cfb80ad4a42','mesosulfuron+iodosulfuron','2',41.5,93.0,4.2,30,'15 g/ha','RR');
INSERT INTO "results" VALUES(2,'01a212f0-1514-745d-bd0f-9cfe68ea6136','01a212f0-1514-745d-bd0f-9cfa90a57530','01a212f0-1514-745d-bd0f-9cfd2e2125af','cycloxydim','1',88.0,92.0,NULL,100,NULL,'S');
INSERT INTO "results" VALUES(3,'01a212f0-1514-745d-bd0f-9d01bf57f2ac','01a212f0-1514-745d-bd0f-9cffa46382d3','01a212f0-1514-745d-bd0f-9d006f9215e2','pendimethalin','3',60.0,90.0,NULL,NULL,'5 ppm','R?');
CREATE TABLE samples (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, id TEXT NOT NULL, code TEXT, field TEXT, year INTEGER, taken DATE, plan TEXT, note TEXT);
INSERT INTO "samples" VALUES(1,'01a212f0-1514-745d-bd0f-9cfa90a57530','SB-1','01a212f0-150a-74d9-abfc-25e1c50b5eeb',2024,NULL,NULL,'');
INSERT INTO "samples" VALUES(2,'01a212f0-1514-745d-bd0f-9cffa46382d3','SB-2','01a212f0-150a-74d9-abfc-25e1c50b5eeb',2026,NULL,NULL,'');
CREATE TABLE scout_points (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, id TEXT NOT NULL, geom POINT, value DOUBLE);
CREATE TABLE scout_rasters (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, id TEXT NOT NULL, geom POLYGON, column_count INTEGER, pixels BLOB);
CREATE TABLE scout_zones (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, id TEXT NOT NULL, geom MULTIPOLYGON, value DOUBLE);
CREATE TABLE sprays (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, id TEXT NOT NULL, field TEXT, year INTEGER, date DATE, active TEXT, hrac_group TEXT, dose_g_per_ha DOUBLE, effect TEXT);
CREATE TABLE stops (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, id TEXT NOT NULL, geom POINT, number INTEGER, share DOUBLE, tramline INTEGER, pinned BOOLEAN, person INTEGER, sample INTEGER, inclusion DOUBLE);
CREATE TABLE surveys (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, id TEXT NOT NULL, date DATE, kind TEXT, unit TEXT, source TEXT);
CREATE TABLE tramlines (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, id TEXT NOT NULL, geom POINT, field TEXT, bearing_deg DOUBLE, spacing_m DOUBLE, headland_m DOUBLE, area TEXT, lines TEXT);
CREATE TABLE walks (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, id TEXT NOT NULL, geom LINESTRING, length_m DOUBLE, minutes DOUBLE, exact BOOLEAN, person INTEGER);
CREATE INDEX farms_by_id ON farms (id);
CREATE INDEX fields_by_id ON fields (id);
CREATE INDEX gates_by_id ON gates (id);
CREATE INDEX no_go_areas_by_id ON no_go_areas (id);
CREATE INDEX tramlines_by_id ON tramlines (id);
CREATE INDEX surveys_by_id ON surveys (id);
CREATE INDEX scout_points_by_id ON scout_points (id);
CREATE INDEX scout_zones_by_id ON scout_zones (id);
CREATE INDEX scout_rasters_by_id ON scout_rasters (id);
CREATE INDEX plans_by_id ON plans (id);
CREATE INDEX stops_by_id ON stops (id);
CREATE INDEX walks_by_id ON walks (id);
CREATE INDEX patches_by_id ON patches (id);
CREATE INDEX samples_by_id ON samples (id);
CREATE INDEX assays_by_id ON assays (id);
CREATE INDEX results_by_id ON results (id);
CREATE INDEX crops_by_id ON crops (id);
CREATE INDEX sprays_by_id ON sprays (id);
CREATE INDEX awn_history_by_id ON awn_history (id);
COMMIT;

-- A season file of schema version 1, as the program of that version wrote it: two crossings files, nests, checks and
-- one correction, all invented. Written out by SQLite's own dump; the two lines after this one stand in its header.
PRAGMA application_id=1196444487;
PRAGMA user_version=10300;
BEGIN TRANSACTION;
CREATE TABLE batches (id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, file_name TEXT NOT NULL, sha256 TEXT NOT NULL, kind TEXT NOT NULL, rows_sha256 TEXT NOT NULL, ingested_at TEXT NOT NULL, rows_in INTEGER NOT NULL, accepted INTEGER NOT NULL, known INTEGER NOT NULL, held_back INTEGER NOT NULL, UNIQUE (sha256, kind, rows_sha256));
INSERT INTO "batches" VALUES(1,'crossings.csv','f6a992827fbb8bb5f9b0a914970244f072803c8eb8e9496958b12ac47215877a','crossings','6344f3623a9892f531213cec4c27d8e688524115bfab7f37514c7dd661450245','2026-11-25T08:24:36+00:00',4,3,0,1);
INSERT INTO "batches" VALUES(2,'more.csv','e6094d6365e23cf74ad2509fd6dc7054c9444c01660463d71e88add0223f469f','crossings','34304187ae0a2ac6191d6220e9bfe75f1c2d9908ca968630c34f8674d36df74b','2026-11-25T08:24:36+00:00',2,1,1,0);
INSERT INTO "batches" VALUES(3,'nests.csv','d4376981ee4d434f8eee0d382d57eb6c3a28171ed625745e2075cf4c7ad7d2c1','nests','9089bd4f535ddf393f7e7bf388c52fd5151c9fa2d69088e7d96831f3cd561c33','2026-11-25T08:24:36+00:00',1,1,0,0);
INSERT INTO "batches" VALUES(4,'checks.csv','3ffb0d54a454444572904e590e0cc9dd4fbdefef46404c256bbb3d366aebc29f','checks','59e077813988cc02942c79e49f9e71df5d586d6c79645b48f51446bb16d20880','2026-11-25T08:24:36+00:00',2,1,0,1);
CREATE TABLE changes (id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, who TEXT NOT NULL, changed_at TEXT NOT NULL, kind TEXT NOT NULL, record_key TEXT NOT NULL, field TEXT NOT NULL, old TEXT, new TEXT, why TEXT NOT NULL);
INSERT INTO "changes" VALUES(1,'Ana','2025-06-02T12:00:00-04:00','crossings','c1','condition','dead','injured','it was still alive');
CREATE TABLE "checks" (id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, record_key TEXT NOT NULL UNIQUE, batch INTEGER REFERENCES batches (id), "nest_id" TEXT, "checked_at" TEXT, "outcome" TEXT, "hatchlings_live" INTEGER, "hatchlings_dead" INTEGER, "eggs_unhatched" INTEGER, "observer" TEXT, "notes" TEXT, "other" TEXT);
INSERT INTO "checks" VALUES(1,'rc1ccd81bc3c8ae824b992181',4,'n2','2025-06-20','intact',NULL,NULL,NULL,NULL,NULL,NULL);
CREATE TABLE "crossings" (id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, geom POINT, record_key TEXT NOT NULL UNIQUE, batch INTEGER REFERENCES batches (id), "record_id" TEXT, "observed_at" TEXT, "longitude" REAL, "latitude" REAL, "position_error_m" REAL, "taxon" TEXT, "id_confidence" REAL, "count" INTEGER, "condition" TEXT, "carcass_age" TEXT, "action" TEXT, "life_stage" TEXT, "sex" TEXT, "gravid" BOOLEAN, "heading_deg" REAL, "carapace_mm" REAL, "observer" TEXT, "observer_skill" TEXT, "view" TEXT, "search_id" TEXT, "verified_taxon" TEXT, "verified_by" TEXT, "verified_how" TEXT, "verified_at" TEXT, "photo" TEXT, "notes" TEXT, "taxon_as_written" TEXT, "verified_taxon_as_written" TEXT, "other" TEXT);
INSERT INTO "crossings" VALUES(1,X'47500001E61000000101000000A8C64B37897954C03333333333B33F40','c1',1,'c1','2025-05-12',-81.899,31.7,10.0,'Trachemys scripta',NULL,NULL,'dead',NULL,NULL,NULL,NULL,NULL,NULL,NULL,'A',NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,'invented','slider',NULL,NULL);
INSERT INTO "crossings" VALUES(2,X'47500001E61000000101000000C520B072687954C03333333333B33F40','c3',1,'c3','2025-05-12',-81.897,31.7,10.0,'Kinosternon',NULL,NULL,'dead',NULL,NULL,NULL,NULL,NULL,NULL,NULL,'A',NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,'invented','mud turtle?',NULL,NULL);
INSERT INTO "crossings" VALUES(3,X'47500001E61000000101000000D34D6210587954C0B81E85EB51B83F40','c4',1,'c4','2025-05-12',-81.896,31.72,10.0,'Trachemys scripta',NULL,NULL,'dead',NULL,NULL,NULL,NULL,NULL,NULL,NULL,'A',NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,'invented','slider',NULL,NULL);
INSERT INTO "crossings" VALUES(4,X'47500001E61000000101000000E27A14AE477954C03333333333B33F40','c5',2,'c5','2025-05-12',-8.18950000000000102352e+01,31.7,10.0,'Trachemys scripta',NULL,NULL,'dead',NULL,NULL,NULL,NULL,NULL,NULL,NULL,'A',NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,'invented','slider',NULL,NULL);
CREATE TABLE gpkg_contents (
  table_name TEXT NOT NULL PRIMARY KEY, data_type TEXT NOT NULL, identifier TEXT UNIQUE, description TEXT DEFAULT '',
  last_change DATETIME NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now')),
  min_x DOUBLE, min_y DOUBLE, max_x DOUBLE, max_y DOUBLE, srs_id INTEGER,
  CONSTRAINT fk_gc_r_srs_id FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys (srs_id));
INSERT INTO "gpkg_contents" VALUES('settings','attributes','settings','What holds for the whole season','2026-11-25T08:24:36.110Z',NULL,NULL,NULL,NULL,NULL);
INSERT INTO "gpkg_contents" VALUES('batches','attributes','batches','What was read in, table by table','2026-11-25T08:24:36.110Z',NULL,NULL,NULL,NULL,NULL);
INSERT INTO "gpkg_contents" VALUES('source_rows','attributes','source_rows','Every row read in, as it stood in its file, and the record it became','2026-11-25T08:24:36.110Z',NULL,NULL,NULL,NULL,NULL);
INSERT INTO "gpkg_contents" VALUES('held_back','attributes','held_back','Rows not stored, each with its reasons','2026-11-25T08:24:36.110Z',NULL,NULL,NULL,NULL,NULL);
INSERT INTO "gpkg_contents" VALUES('remarks','attributes','remarks','What to look at in rows that were stored','2026-11-25T08:24:36.110Z',NULL,NULL,NULL,NULL,NULL);
INSERT INTO "gpkg_contents" VALUES('changes','attributes','changes','Corrections; the latest of a record and field holds','2026-11-25T08:24:36.110Z',NULL,NULL,NULL,NULL,NULL);
INSERT INTO "gpkg_contents" VALUES('releases','attributes','releases','What was made public, when, and on what grid','2026-11-25T08:24:36.110Z',NULL,NULL,NULL,NULL,NULL);
INSERT INTO "gpkg_contents" VALUES('crossings','features','crossings','','2026-11-25T08:24:36.110Z',-81.899,31.7,-8.18950000000000102352e+01,31.72,4326);
INSERT INTO "gpkg_contents" VALUES('nests','features','nests','','2026-11-25T08:24:36.110Z',-81.899,31.701,-81.899,31.701,4326);
INSERT INTO "gpkg_contents" VALUES('checks','attributes','checks','','2026-11-25T08:24:36.110Z',NULL,NULL,NULL,NULL,NULL);
INSERT INTO "gpkg_contents" VALUES('searches','features','searches','','2026-11-25T08:24:36.110Z',NULL,NULL,NULL,NULL,4326);
INSERT INTO "gpkg_contents" VALUES('temperatures','attributes','temperatures','','2026-11-25T08:24:36.110Z',NULL,NULL,NULL,NULL,NULL);
INSERT INTO "gpkg_contents" VALUES('people','features','people','','2026-11-25T08:24:36.110Z',NULL,NULL,NULL,NULL,4326);
INSERT INTO "gpkg_contents" VALUES('measures','features','measures','','2026-11-25T08:24:36.110Z',NULL,NULL,NULL,NULL,4326);
INSERT INTO "gpkg_contents" VALUES('roads','features','roads','','2026-11-25T08:24:36.110Z',-81.95,31.7,-8.18500000000000085299e+01,31.7,4326);
INSERT INTO "gpkg_contents" VALUES('water','features','water','','2026-11-25T08:24:36.110Z',NULL,NULL,NULL,NULL,4326);
INSERT INTO "gpkg_contents" VALUES('protected','features','protected','','2026-11-25T08:24:36.110Z',NULL,NULL,NULL,NULL,4326);
INSERT INTO "gpkg_contents" VALUES('passages','features','passages','','2026-11-25T08:24:36.110Z',NULL,NULL,NULL,NULL,4326);
INSERT INTO "gpkg_contents" VALUES('no_fence','features','no_fence','','2026-11-25T08:24:36.110Z',NULL,NULL,NULL,NULL,4326);
CREATE TABLE gpkg_geometry_columns (
  table_name TEXT NOT NULL, column_name TEXT NOT NULL, geometry_type_name TEXT NOT NULL, srs_id INTEGER NOT NULL,
  z TINYINT NOT NULL, m TINYINT NOT NULL,
  CONSTRAINT pk_geom_cols PRIMARY KEY (table_name, column_name), CONSTRAINT uk_gc_table_name UNIQUE (table_name),
  CONSTRAINT fk_gc_tn FOREIGN KEY (table_name) REFERENCES gpkg_contents (table_name),
  CONSTRAINT fk_gc_srs FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys (srs_id));
INSERT INTO "gpkg_geometry_columns" VALUES('crossings','geom','POINT',4326,0,0);
INSERT INTO "gpkg_geometry_columns" VALUES('nests','geom','POINT',4326,0,0);
INSERT INTO "gpkg_geometry_columns" VALUES('searches','geom','GEOMETRY',4326,0,0);
INSERT INTO "gpkg_geometry_columns" VALUES('people','geom','POINT',4326,0,0);
INSERT INTO "gpkg_geometry_columns" VALUES('measures','geom','GEOMETRY',4326,0,0);
INSERT INTO "gpkg_geometry_columns" VALUES('roads','geom','LINESTRING',4326,0,0);
INSERT INTO "gpkg_geometry_columns" VALUES('water','geom','GEOMETRY',4326,0,0);
INSERT INTO "gpkg_geometry_columns" VALUES('protected','geom','GEOMETRY',4326,0,0);
INSERT INTO "gpkg_geometry_columns" VALUES('passages','geom','GEOMETRY',4326,0,0);
INSERT INTO "gpkg_geometry_columns" VALUES('no_fence','geom','GEOMETRY',4326,0,0);
CREATE TABLE gpkg_spatial_ref_sys (
  srs_name TEXT NOT NULL, srs_id INTEGER NOT NULL PRIMARY KEY, organization TEXT NOT NULL,
  organization_coordsys_id INTEGER NOT NULL, definition TEXT NOT NULL, description TEXT);
INSERT INTO "gpkg_spatial_ref_sys" VALUES('Undefined Cartesian SRS',-1,'NONE',-1,'undefined','undefined Cartesian coordinate reference system');
INSERT INTO "gpkg_spatial_ref_sys" VALUES('Undefined geographic SRS',0,'NONE',0,'undefined','undefined geographic coordinate reference system');
INSERT INTO "gpkg_spatial_ref_sys" VALUES('WGS 84 geodetic',4326,'EPSG',4326,'GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563,AUTHORITY["EPSG","7030"]],AUTHORITY["EPSG","6326"]],PRIMEM["Greenwich",0,AUTHORITY["EPSG","8901"]],UNIT["degree",0.0174532925199433,AUTHORITY["EPSG","9122"]],AUTHORITY["EPSG","4326"]]','longitude and latitude in decimal degrees on WGS 84');
CREATE TABLE held_back (id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, batch INTEGER NOT NULL REFERENCES batches (id), line INTEGER NOT NULL, original TEXT NOT NULL, reasons TEXT NOT NULL, settled_at TEXT);
INSERT INTO "held_back" VALUES(1,1,3,'c2,2025-05-12,-81.89800000000001,north of town,slider,dead,10,A,invented','latitude ''north of town'' is not a number; write decimal degrees, such as 29.6516',NULL);
INSERT INTO "held_back" VALUES(2,4,3,'n1,2025-05-20,intact','nest n1 was checked at 2025-05-20, before it was found; correct the day of the check, the name of the nest, or the day it was found',NULL);
CREATE TABLE "measures" (id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, geom GEOMETRY, record_key TEXT NOT NULL UNIQUE, batch INTEGER REFERENCES batches (id), "measure_id" TEXT, "kind" TEXT, "built_on" TEXT, "removed_on" TEXT, "sides" INTEGER, "ends_treated" BOOLEAN, "cost" REAL, "notes" TEXT, "other" TEXT);
CREATE TABLE "nests" (id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, geom POINT, record_key TEXT NOT NULL UNIQUE, batch INTEGER REFERENCES batches (id), "nest_id" TEXT, "found_at" TEXT, "laid_on" TEXT, "laid_from" TEXT, "laid_to" TEXT, "longitude" REAL, "latitude" REAL, "position_error_m" REAL, "taxon" TEXT, "id_confidence" REAL, "depth_cm" REAL, "exposure" TEXT, "clutch_size" INTEGER, "logger_id" TEXT, "protected_on" TEXT, "protected_off" TEXT, "open_with" TEXT, "visit_minutes" REAL, "access_longitude" REAL, "access_latitude" REAL, "landowner_ok" BOOLEAN, "observer" TEXT, "observer_skill" TEXT, "view" TEXT, "verified_taxon" TEXT, "verified_by" TEXT, "verified_how" TEXT, "verified_at" TEXT, "notes" TEXT, "taxon_as_written" TEXT, "verified_taxon_as_written" TEXT, "other" TEXT);
INSERT INTO "nests" VALUES(1,X'47500001E61000000101000000A8C64B37897954C0FA7E6ABC74B33F40','n1',3,'n1','2025-06-01',NULL,NULL,NULL,-81.899,31.701,NULL,'Trachemys scripta',NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,'Trachemys scripta',NULL,NULL);
CREATE TABLE "no_fence" (id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, geom GEOMETRY, "name" TEXT, "other" TEXT);
CREATE TABLE "passages" (id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, geom GEOMETRY, "name" TEXT, "other" TEXT);
CREATE TABLE "people" (id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, geom POINT, record_key TEXT NOT NULL UNIQUE, batch INTEGER REFERENCES batches (id), "observer" TEXT, "start_longitude" REAL, "start_latitude" REAL, "days" TEXT, "hours_per_day" REAL, "may_open_nests" BOOLEAN, "other" TEXT);
CREATE TABLE "protected" (id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, geom GEOMETRY, "name" TEXT, "other" TEXT);
CREATE TABLE releases (id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, released_at TEXT NOT NULL, what TEXT NOT NULL, grid TEXT NOT NULL, file_name TEXT NOT NULL);
CREATE TABLE remarks (id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, batch INTEGER NOT NULL REFERENCES batches (id), line INTEGER NOT NULL, record_key TEXT, severity TEXT NOT NULL, reason TEXT NOT NULL);
INSERT INTO "remarks" VALUES(1,1,4,'c3','note','taxon ''mud turtle?'' is written with doubt and id_confidence is blank; write certain, likely or unsure there');
INSERT INTO "remarks" VALUES(2,1,5,'c4','note','not placed on a road: nearest road is 2217 m away; tolerance 50 m; kept, but not counted along the roads');
INSERT INTO "remarks" VALUES(3,2,2,'c3','note','taxon ''mud turtle?'' is written with doubt and id_confidence is blank; write certain, likely or unsure there');
INSERT INTO "remarks" VALUES(4,4,2,'rc1ccd81bc3c8ae824b992181','ask','nest_id n2 is not among the nests; add the nest, or correct its name here');
CREATE TABLE "roads" (id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, geom LINESTRING, "road_id" TEXT, "road" TEXT, "agency" TEXT, "route_id" TEXT, "from_measure" REAL, "to_measure" REAL, "measure_unit" TEXT, "speed_limit" REAL, "traffic_per_day" REAL, "divided" BOOLEAN, "bridge" BOOLEAN, "other" TEXT);
INSERT INTO "roads" VALUES(1,X'47500001E6100000010200000002000000CDCCCCCCCC7C54C03333333333B33F4067666666667654C03333333333B33F40',NULL,'Invented East Road',NULL,NULL,NULL,NULL,NULL,45.0,NULL,NULL,NULL,NULL);
CREATE TABLE "searches" (id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, geom GEOMETRY, record_key TEXT NOT NULL UNIQUE, batch INTEGER REFERENCES batches (id), "search_id" TEXT, "started_at" TEXT, "ended_at" TEXT, "observer" TEXT, "method" TEXT, "sides" INTEGER, "roads" TEXT, "track" TEXT, "distance_km" REAL, "found_none" BOOLEAN, "notes" TEXT, "other" TEXT);
CREATE TABLE settings (id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, name TEXT NOT NULL UNIQUE, value TEXT NOT NULL);
INSERT INTO "settings" VALUES(1,'timezone','America/New_York');
INSERT INTO "settings" VALUES(2,'schema_version','1');
INSERT INTO "settings" VALUES(3,'roads_source','roads.geojson');
INSERT INTO "settings" VALUES(4,'roads_crs','OGC:CRS84');
INSERT INTO "settings" VALUES(5,'roads_features','1');
CREATE TABLE source_rows (id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, batch INTEGER NOT NULL REFERENCES batches (id), line INTEGER NOT NULL, record_id TEXT, original TEXT NOT NULL);
INSERT INTO "source_rows" VALUES(1,1,2,'c1','c1,2025-05-12,-81.899,31.7,slider,dead,10,A,invented');
INSERT INTO "source_rows" VALUES(2,1,3,NULL,'c2,2025-05-12,-81.89800000000001,north of town,slider,dead,10,A,invented');
INSERT INTO "source_rows" VALUES(3,1,4,'c3','c3,2025-05-12,-81.897,31.7,mud turtle?,dead,10,A,invented');
INSERT INTO "source_rows" VALUES(4,1,5,'c4','c4,2025-05-12,-81.896,31.72,slider,dead,10,A,invented');
INSERT INTO "source_rows" VALUES(5,2,2,'c3','c3,2025-05-12,-81.897,31.7,mud turtle?,dead,10,A,invented');
INSERT INTO "source_rows" VALUES(6,2,3,'c5','c5,2025-05-12,-81.89500000000001,31.7,slider,dead,10,A,invented');
INSERT INTO "source_rows" VALUES(7,3,2,'n1','n1,2025-06-01,-81.899,31.701,Trachemys scripta');
INSERT INTO "source_rows" VALUES(8,4,2,'rc1ccd81bc3c8ae824b992181','n2,2025-06-20,intact');
INSERT INTO "source_rows" VALUES(9,4,3,NULL,'n1,2025-05-20,intact');
CREATE TABLE "temperatures" (id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, record_key TEXT NOT NULL UNIQUE, batch INTEGER REFERENCES batches (id), "series_id" TEXT, "kind" TEXT, "date" TEXT, "tmin_c" REAL, "tmax_c" REAL, "at" TEXT, "temp_c" REAL, "issued_at" TEXT, "longitude" REAL, "latitude" REAL, "depth_cm" REAL, "other" TEXT);
CREATE TABLE "water" (id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, geom GEOMETRY, "name" TEXT, "other" TEXT);
DELETE FROM "sqlite_sequence";
INSERT INTO "sqlite_sequence" VALUES('settings',5);
INSERT INTO "sqlite_sequence" VALUES('roads',1);
INSERT INTO "sqlite_sequence" VALUES('batches',4);
INSERT INTO "sqlite_sequence" VALUES('crossings',4);
INSERT INTO "sqlite_sequence" VALUES('source_rows',9);
INSERT INTO "sqlite_sequence" VALUES('held_back',2);
INSERT INTO "sqlite_sequence" VALUES('remarks',4);
INSERT INTO "sqlite_sequence" VALUES('nests',1);
INSERT INTO "sqlite_sequence" VALUES('checks',1);
INSERT INTO "sqlite_sequence" VALUES('changes',1);
COMMIT;

BEGIN TRANSACTION;
CREATE TABLE camera (
	id INTEGER NOT NULL, 
	label VARCHAR NOT NULL, 
	identity VARCHAR NOT NULL, 
	serial VARCHAR NOT NULL, 
	model VARCHAR NOT NULL, 
	PRIMARY KEY (id), 
	UNIQUE (label), 
	UNIQUE (identity)
);
INSERT INTO "camera" VALUES(1,'A','body Model 1 0042','0042','Model 1');
CREATE TABLE card (
	id INTEGER NOT NULL, 
	number INTEGER NOT NULL, 
	code VARCHAR NOT NULL, 
	PRIMARY KEY (id), 
	UNIQUE (number), 
	UNIQUE (code)
);
INSERT INTO "card" VALUES(1,1,'NXAAAA9743AC');
CREATE TABLE card_holder (
	card_id INTEGER NOT NULL, 
	person_id INTEGER NOT NULL, 
	since DATETIME NOT NULL, 
	event_id INTEGER NOT NULL, 
	PRIMARY KEY (card_id), 
	FOREIGN KEY(card_id) REFERENCES card (id), 
	FOREIGN KEY(person_id) REFERENCES person (id)
);
CREATE TABLE event (
	id INTEGER NOT NULL, 
	at DATETIME NOT NULL, 
	recorded DATETIME NOT NULL, 
	station VARCHAR NOT NULL, 
	kind VARCHAR NOT NULL, 
	person_id INTEGER, 
	frame_id INTEGER, 
	card_id INTEGER, 
	details JSON NOT NULL, 
	PRIMARY KEY (id), 
	FOREIGN KEY(person_id) REFERENCES person (id), 
	FOREIGN KEY(frame_id) REFERENCES frame (id), 
	FOREIGN KEY(card_id) REFERENCES card (id)
);
INSERT INTO "event" VALUES(1,'2026-06-13 07:40:00.000000','2026-11-25 16:48:23.366999','','listed',1,NULL,NULL,'{}');
INSERT INTO "event" VALUES(2,'2026-06-13 07:40:00.000000','2026-11-25 16:48:23.368019','door-1','arrived',1,NULL,NULL,'{"sequence": 1}');
INSERT INTO "event" VALUES(3,'2026-06-13 07:40:00.000000','2026-11-25 16:48:23.368311','','ingested',NULL,NULL,NULL,'{"frames": 1, "files": 1, "folders": ["DCIM"]}');
CREATE TABLE file (
	id INTEGER NOT NULL, 
	frame_id INTEGER NOT NULL, 
	name VARCHAR NOT NULL, 
	kind VARCHAR NOT NULL, 
	size BIGINT NOT NULL, 
	sha256 VARCHAR NOT NULL, 
	PRIMARY KEY (id), 
	FOREIGN KEY(frame_id) REFERENCES frame (id), 
	UNIQUE (sha256)
);
INSERT INTO "file" VALUES(1,1,'IMG_0012.JPG','jpeg',5000000000,'ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad');
CREATE TABLE frame (
	id INTEGER NOT NULL, 
	camera_id INTEGER NOT NULL, 
	counter INTEGER, 
	name VARCHAR NOT NULL, 
	taken DATETIME, 
	utc_offset INTEGER, 
	source VARCHAR NOT NULL, 
	width INTEGER NOT NULL, 
	height INTEGER NOT NULL, 
	trouble VARCHAR NOT NULL, 
	look BLOB, codes INTEGER, 
	PRIMARY KEY (id), 
	FOREIGN KEY(camera_id) REFERENCES camera (id)
);
INSERT INTO "frame" VALUES(1,1,12,'IMG_0012','2026-06-13 09:41:07.250000',120,'DCIM/100',6000,4000,'',X'00FF',2);
CREATE TABLE measure (
            frame_id INTEGER NOT NULL PRIMARY KEY REFERENCES frame (id),
            brightness FLOAT,
            sharpness FLOAT,
            backdrop_l FLOAT,
            backdrop_a FLOAT,
            backdrop_b FLOAT
        );
INSERT INTO "measure" VALUES(1,0.4,12.5,62.0,0.5,-1.5);
CREATE TABLE meta (
	"key" VARCHAR NOT NULL, 
	value VARCHAR NOT NULL, 
	PRIMARY KEY ("key")
);
INSERT INTO "meta" VALUES('schema_version','7');
INSERT INTO "meta" VALUES('shoot_mark','AAAA');
INSERT INTO "meta" VALUES('consent_asked','yes');
CREATE TABLE person (
	id INTEGER NOT NULL, 
	"key" VARCHAR NOT NULL, 
	own_key BOOLEAN NOT NULL, 
	walk_in BOOLEAN NOT NULL, 
	name VARCHAR NOT NULL, 
	given VARCHAR NOT NULL, 
	family VARCHAR NOT NULL, 
	group_name VARCHAR NOT NULL, 
	role VARCHAR NOT NULL, 
	email VARCHAR NOT NULL, 
	phone VARCHAR NOT NULL, 
	slot VARCHAR NOT NULL, 
	consent VARCHAR NOT NULL, 
	note VARCHAR NOT NULL, 
	extra JSON NOT NULL, 
	code VARCHAR NOT NULL, spoken VARCHAR DEFAULT '' NOT NULL, language VARCHAR DEFAULT '' NOT NULL, 
	PRIMARY KEY (id), 
	UNIQUE ("key"), 
	UNIQUE (code)
);
INSERT INTO "person" VALUES(1,'17',0,0,'Zoë Ó Súilleabháin','','','Alto 2','','','','','','','{"Bus": "3"}','NXAAAA3479AC','ZOH-ee','de-AT');
CREATE TABLE person_state (
	person_id INTEGER NOT NULL, 
	changed INTEGER NOT NULL, 
	withdrawn BOOLEAN NOT NULL, 
	removed BOOLEAN NOT NULL, 
	arrived DATETIME, 
	station VARCHAR NOT NULL, 
	arrival INTEGER, 
	shown DATETIME, 
	confirmed VARCHAR, 
	PRIMARY KEY (person_id), 
	FOREIGN KEY(person_id) REFERENCES person (id)
);
INSERT INTO "person_state" VALUES(1,3,0,0,'2026-06-13 07:40:00.000000','door-1',2,NULL,NULL);
CREATE TABLE place (
	id INTEGER NOT NULL, 
	file_id INTEGER NOT NULL, 
	path VARCHAR NOT NULL, 
	size BIGINT NOT NULL, 
	mtime_ns BIGINT NOT NULL, 
	head VARCHAR NOT NULL, 
	is_copy BOOLEAN NOT NULL, 
	PRIMARY KEY (id), 
	UNIQUE (path, file_id), 
	FOREIGN KEY(file_id) REFERENCES file (id)
);
INSERT INTO "place" VALUES(1,1,'DCIM/100/IMG_0012.JPG',5000000000,1781336467250000000,'00',0);
CREATE TABLE reading (
	id INTEGER NOT NULL, 
	frame_id INTEGER NOT NULL, 
	text VARCHAR, 
	turned INTEGER NOT NULL, 
	share FLOAT NOT NULL, read_by VARCHAR, margin FLOAT, 
	PRIMARY KEY (id), 
	FOREIGN KEY(frame_id) REFERENCES frame (id)
);
INSERT INTO "reading" VALUES(1,1,'NXAAAA3479AC',0,0.25,'known codes',9.5);
CREATE TABLE sequence_number (
	number INTEGER NOT NULL, 
	person_id INTEGER NOT NULL, 
	PRIMARY KEY (number), 
	UNIQUE (person_id), 
	FOREIGN KEY(person_id) REFERENCES person (id)
);
INSERT INTO "sequence_number" VALUES(1,1);
CREATE TABLE timing (
	first_frame INTEGER NOT NULL, 
	correction FLOAT NOT NULL, 
	drift FLOAT NOT NULL, 
	at FLOAT NOT NULL, 
	set_forward FLOAT NOT NULL, 
	PRIMARY KEY (first_frame), 
	FOREIGN KEY(first_frame) REFERENCES frame (id)
);
INSERT INTO "timing" VALUES(1,-3600.0,0.0,0.0,0.0);
CREATE TABLE undone (
	event_id INTEGER NOT NULL, 
	PRIMARY KEY (event_id), 
	FOREIGN KEY(event_id) REFERENCES event (id)
);
CREATE TABLE verdict (
	frame_id INTEGER NOT NULL, 
	kind VARCHAR NOT NULL, 
	person_id INTEGER, 
	how VARCHAR NOT NULL, 
	doubt VARCHAR NOT NULL, 
	run INTEGER, 
	suggestions JSON NOT NULL, 
	certainty FLOAT, 
	PRIMARY KEY (frame_id), 
	FOREIGN KEY(frame_id) REFERENCES frame (id), 
	FOREIGN KEY(person_id) REFERENCES person (id)
);
INSERT INTO "verdict" VALUES(1,'named',1,'slate','',1,'[]',0.9998);
CREATE INDEX ix_frame_camera_id ON frame (camera_id);
CREATE INDEX ix_frame_name ON frame (name);
CREATE INDEX ix_file_frame_id ON file (frame_id);
CREATE INDEX ix_reading_frame_id ON reading (frame_id);
CREATE INDEX ix_event_frame_id ON event (frame_id);
CREATE INDEX ix_event_kind ON event (kind);
CREATE INDEX ix_event_person_id ON event (person_id);
CREATE INDEX ix_verdict_person_id ON verdict (person_id);
CREATE INDEX ix_place_path ON place (path);
CREATE INDEX ix_place_file_id ON place (file_id);
CREATE INDEX ix_event_card_id ON event (card_id);
COMMIT;

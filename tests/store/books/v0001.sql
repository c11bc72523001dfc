-- A book of version 0001, as the steps of that version made it: .dump of its file.
BEGIN TRANSACTION;
CREATE TABLE alembic_version (
	version_num VARCHAR(32) NOT NULL, 
	CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)
);
INSERT INTO "alembic_version" VALUES('0001');
CREATE TABLE answer (
	digest VARCHAR(64) NOT NULL, 
	program VARCHAR(40) NOT NULL, 
	document TEXT NOT NULL, 
	made VARCHAR(40) NOT NULL, 
	cited_by INTEGER, 
	CONSTRAINT pk_answer PRIMARY KEY (digest), 
	CONSTRAINT fk_answer_cited_by FOREIGN KEY(cited_by) REFERENCES revision (id)
);
INSERT INTO "answer" VALUES('aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa','0.0.9','{"oats":[30,50]}','2026-03-01T09:12:00.000000+00:00',5);
INSERT INTO "answer" VALUES('bbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbb','0.0.9','{"oats":[35,45]}','2026-03-01T09:13:00.000000+00:00',NULL);
CREATE TABLE picture (
	id INTEGER NOT NULL, 
	rebuild_id INTEGER NOT NULL, 
	name TEXT NOT NULL, 
	media_type VARCHAR(40) NOT NULL, 
	width INTEGER NOT NULL, 
	height INTEGER NOT NULL, 
	digest VARCHAR(64) NOT NULL, 
	made VARCHAR(40) NOT NULL, 
	data BLOB NOT NULL, 
	CONSTRAINT pk_picture PRIMARY KEY (id), 
	CONSTRAINT fk_picture_rebuild_id FOREIGN KEY(rebuild_id) REFERENCES rebuild (id)
);
INSERT INTO "picture" VALUES(1,1,'packet, front','image/png',1,1,'e0ec792a2e3818bf9a1c9e27890c4d0b27b0b978d9b62d144118607525740601','2026-03-01T09:10:00.000000+00:00',X'89504E470D0A1A0A0000000D49484452000000010000000108060000001F15C4890000000D49444154789C626060606000000005000157CDD6BA0000000049454E44AE426082');
CREATE TABLE rebuild (
	id INTEGER NOT NULL, 
	name TEXT NOT NULL, 
	made VARCHAR(40) NOT NULL, 
	changed VARCHAR(40) NOT NULL, 
	set_aside BOOLEAN NOT NULL, 
	CONSTRAINT pk_rebuild PRIMARY KEY (id)
);
INSERT INTO "rebuild" VALUES(1,'Oat slabs with quince','2026-03-01T09:10:00.000000+00:00','2026-03-02T09:11:00.000000+00:00',0);
INSERT INTO "rebuild" VALUES(2,'Salted rye thins','2026-03-01T09:11:00.000000+00:00','2026-03-01T09:11:00.000000+00:00',1);
CREATE TABLE revision (
	id INTEGER NOT NULL, 
	thing_id INTEGER NOT NULL, 
	parent_id INTEGER, 
	document TEXT NOT NULL, 
	who TEXT NOT NULL, 
	made VARCHAR(40) NOT NULL, 
	frozen BOOLEAN NOT NULL, 
	CONSTRAINT pk_revision PRIMARY KEY (id), 
	CONSTRAINT fk_revision_thing_id FOREIGN KEY(thing_id) REFERENCES thing (id), 
	CONSTRAINT fk_revision_parent_id FOREIGN KEY(parent_id) REFERENCES revision (id)
);
INSERT INTO "revision" VALUES(1,1,NULL,'{"deadline":"2026-05-01","must":["holds on a tray"],"nice":[],"drop":["palm oil"]}','Ana','2026-03-01T09:10:00.000000+00:00',0);
INSERT INTO "revision" VALUES(2,2,NULL,'{"label":{"text":"Oats 41 %, quince 12 %, sugar, butter, salt; it''s “crisp”"},"pictures":[1]}','Ana','2026-03-01T09:10:00.000000+00:00',0);
INSERT INTO "revision" VALUES(3,3,NULL,'{"name":"Slab","parts":[],"notes":"first: 180 °C"}','Ana','2026-03-01T09:11:00.000000+00:00',0);
INSERT INTO "revision" VALUES(4,4,NULL,'{}','Ben','2026-03-01T09:11:00.000000+00:00',0);
INSERT INTO "revision" VALUES(5,3,3,'{"name":"Slab","parts":[],"notes":"second\nline, 1⁄2 cup"}','Ana','2026-03-01T09:12:00.000000+00:00',1);
INSERT INTO "revision" VALUES(6,3,3,'{"name":"Slab","parts":[],"notes":"Ben''s own"}','Ben','2026-03-01T09:13:00.000000+00:00',0);
INSERT INTO "revision" VALUES(7,2,2,'{"label":{"text":"Oats 41 %, quince 12 %, sugar, butter, salt"},"pictures":[1]}','Ben','2026-03-01T09:14:00.000000+00:00',0);
INSERT INTO "revision" VALUES(8,5,NULL,'{"name":"Off"}','Ben','2026-03-01T09:14:00.000000+00:00',0);
CREATE TABLE thing (
	id INTEGER NOT NULL, 
	rebuild_id INTEGER NOT NULL, 
	kind VARCHAR(20) NOT NULL, 
	name TEXT NOT NULL, 
	removed BOOLEAN NOT NULL, 
	CONSTRAINT pk_thing PRIMARY KEY (id), 
	CONSTRAINT fk_thing_rebuild_id FOREIGN KEY(rebuild_id) REFERENCES rebuild (id)
);
INSERT INTO "thing" VALUES(1,1,'brief','Brief',0);
INSERT INTO "thing" VALUES(2,1,'original','Original',0);
INSERT INTO "thing" VALUES(3,1,'formula','Slab, first mix',0);
INSERT INTO "thing" VALUES(4,2,'brief','Brief',0);
INSERT INTO "thing" VALUES(5,1,'formula','Taken off',1);
CREATE INDEX ix_rebuild_changed ON rebuild (changed);
CREATE INDEX ix_thing_rebuild_id ON thing (rebuild_id);
CREATE INDEX ix_revision_thing_id ON revision (thing_id);
CREATE INDEX ix_picture_rebuild_id ON picture (rebuild_id);
COMMIT;

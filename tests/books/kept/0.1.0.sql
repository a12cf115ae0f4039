-- The books of a small yard as 0.1.0 left them: SQLite's own dump.
BEGIN TRANSACTION;
CREATE TABLE "books_horse" ("id" integer NOT NULL PRIMARY KEY AUTOINCREMENT, "horse_key" varchar(200) NOT NULL UNIQUE, "name" varchar(100) NOT NULL, "foaled" smallint unsigned NOT NULL CHECK ("foaled" >= 0), "sex" varchar(8) NOT NULL, "sire" varchar(100) NOT NULL, "dam" varchar(100) NOT NULL, "joined" date NOT NULL, CONSTRAINT "horse_is_named" CHECK ((NOT ("name" = '') AND NOT ("horse_key" = ''))), CONSTRAINT "horse_foaled_in_our_time" CHECK ("foaled" BETWEEN 1950 AND 2150), CONSTRAINT "horse_sex_is_a_word_of_the_trade" CHECK ("sex" IN ('colt', 'filly', 'horse', 'mare', 'gelding', 'ridgling')));
INSERT INTO "books_horse" VALUES(1,'invented:H0001','Bellrope Gazette',2021,'gelding','Umber Rondo','Loam Ditty','2026-06-20');
INSERT INTO "books_horse" VALUES(2,'invented:H0002','Mostly Kettle',2023,'filly','Umber Rondo','','2026-06-20');
INSERT INTO "books_horse" VALUES(3,'invented:H0003','Été Ĺoam',2019,'horse','','Wharf Viola','2026-06-20');
CREATE TABLE "django_migrations" ("id" integer NOT NULL PRIMARY KEY AUTOINCREMENT, "app" varchar(255) NOT NULL, "name" varchar(255) NOT NULL, "applied" datetime NOT NULL);
INSERT INTO "django_migrations" VALUES(1,'books','0001_horses','2026-11-26 14:21:18.537272');
DELETE FROM "sqlite_sequence";
INSERT INTO "sqlite_sequence" VALUES('django_migrations',1);
INSERT INTO "sqlite_sequence" VALUES('books_horse',3);
COMMIT;

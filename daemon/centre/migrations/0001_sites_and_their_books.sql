-- The books of many sites. The columns of record, channel, word, block, day, gap and
-- unattested are those of a site's own file, behind the number of the site. Columns that
-- end in _ms were dated by the site, columns that end in _at by the centre.
CREATE SCHEMA wetside;

CREATE TABLE wetside.site (
	id         integer     GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
	name       text        NOT NULL CHECK (name <> ''),
	building   text        NOT NULL DEFAULT '',
	key_sha256 bytea       NOT NULL UNIQUE,
	added_at   timestamptz NOT NULL DEFAULT now(),
	-- Since when the key is no longer taken.
	closed_at  timestamptz
);
CREATE UNIQUE INDEX site_by_name ON wetside.site(name) WHERE closed_at IS NULL;

-- The site whose rows the transaction may write; no row where none was named.
CREATE FUNCTION wetside.writing_site() RETURNS integer LANGUAGE sql STABLE
	AS $$ SELECT nullif(current_setting('wetside.site', true), '')::integer $$;

-- What a site said of itself at its last word.
CREATE TABLE wetside.heard (
	site_id        integer     PRIMARY KEY REFERENCES wetside.site(id),
	heard_at       timestamptz NOT NULL,
	-- The last record of the site's own book.
	number         bigint      NOT NULL,
	hash           text        COLLATE "C" NOT NULL,
	alive_ms       bigint      NOT NULL,
	-- The site's clock less the centre's; the way of the message counts as the site's lateness.
	clock_apart_ms bigint      NOT NULL,
	version        text        NOT NULL DEFAULT '',
	zone           text        NOT NULL DEFAULT '',
	simulated      boolean     NOT NULL DEFAULT false,
	-- Whether every record and every sealed day of the site had arrived with its last word.
	complete       boolean     NOT NULL DEFAULT false,
	-- How many messages of the site were taken.
	messages       bigint      NOT NULL DEFAULT 0
);

-- Why something was not taken from a site. A refusal ends when the site is taken again.
CREATE TABLE wetside.refusal (
	id       bigint      GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
	site_id  integer     NOT NULL REFERENCES wetside.site(id),
	-- The day of a channel that was not taken; null where it was the whole message.
	key      bigint,
	why      text        NOT NULL,
	first_at timestamptz NOT NULL,
	last_at  timestamptz NOT NULL,
	times    integer     NOT NULL DEFAULT 1,
	ended_at timestamptz
);
CREATE UNIQUE INDEX refusal_open ON wetside.refusal(site_id, coalesce(key, -1), why) WHERE ended_at IS NULL;
CREATE INDEX refusal_by_site ON wetside.refusal(site_id, first_at);

CREATE TABLE wetside.record (
	site_id integer NOT NULL REFERENCES wetside.site(id),
	number  bigint  NOT NULL,
	hash    text    COLLATE "C" NOT NULL,
	body    text    COLLATE "C" NOT NULL,
	-- Parts of the body for queries, filled in by the trigger.
	kind    text    COLLATE "C" NOT NULL,
	room    text    COLLATE "C" NOT NULL,
	at_ms   bigint  NOT NULL,
	-- When the centre took the record: its hash is a checkpoint of that moment.
	taken_at timestamptz NOT NULL,
	PRIMARY KEY (site_id, number)
);
CREATE INDEX record_by_time ON wetside.record(site_id, at_ms);
CREATE INDEX record_by_kind ON wetside.record(site_id, kind, number);
CREATE INDEX record_by_taking ON wetside.record(site_id, taken_at);

CREATE TABLE wetside.channel (
	site_id    integer NOT NULL REFERENCES wetside.site(id),
	code       bigint  NOT NULL,
	id         text    COLLATE "C" NOT NULL,
	room       text    COLLATE "C" NOT NULL,
	name       text    COLLATE "C" NOT NULL,
	kind       text    COLLATE "C" NOT NULL,
	unit       text    COLLATE "C" NOT NULL,
	silence_ms bigint  NOT NULL,
	in_service bigint  NOT NULL,
	PRIMARY KEY (site_id, code),
	UNIQUE (site_id, id)
);

CREATE TABLE wetside.word (
	site_id integer NOT NULL REFERENCES wetside.site(id),
	code    bigint  NOT NULL,
	text    text    COLLATE "C" NOT NULL,
	PRIMARY KEY (site_id, code)
);

-- key = channel * 2^32 + quarter of an hour + 2^31
CREATE TABLE wetside.block (
	site_id integer NOT NULL REFERENCES wetside.site(id),
	key     bigint  NOT NULL,
	samples bytea   NOT NULL,
	PRIMARY KEY (site_id, key)
);
ALTER TABLE wetside.block ALTER samples SET STORAGE EXTERNAL; -- packed already

-- What a block was before samples came late to it: nothing that arrived is lost.
CREATE TABLE wetside.block_before (
	site_id     integer     NOT NULL,
	key         bigint      NOT NULL,
	samples     bytea       NOT NULL,
	replaced_at timestamptz NOT NULL DEFAULT clock_timestamp()
);
CREATE INDEX block_before_by_key ON wetside.block_before(site_id, key);

-- key = channel * 2^32 + UTC day + 2^31
CREATE TABLE wetside.day (
	site_id  integer NOT NULL REFERENCES wetside.site(id),
	key      bigint  NOT NULL,
	quarters bytea   NOT NULL,
	PRIMARY KEY (site_id, key)
);
ALTER TABLE wetside.day ALTER quarters SET STORAGE EXTERNAL;

CREATE TABLE wetside.gap (
	site_id integer NOT NULL REFERENCES wetside.site(id),
	id      bigint  NOT NULL,
	channel bigint  NOT NULL,
	from_ms bigint  NOT NULL,
	to_ms   bigint,
	cause   text    COLLATE "C" NOT NULL,
	PRIMARY KEY (site_id, id)
);
CREATE INDEX gap_by_time ON wetside.gap(site_id, channel, from_ms);
CREATE INDEX gap_by_end ON wetside.gap(site_id, channel, to_ms);

-- The days that the site's book does not attest yet, as the site says.
CREATE TABLE wetside.unattested (
	site_id integer NOT NULL REFERENCES wetside.site(id),
	key     bigint  NOT NULL,
	changes bigint  NOT NULL,
	PRIMARY KEY (site_id, key)
);

-- The latest word of each book on each day of each channel. held: the rows of that day
-- are here and come to that sum.
CREATE TABLE wetside.attested (
	site_id integer NOT NULL REFERENCES wetside.site(id),
	channel text    COLLATE "C" NOT NULL,
	day     bigint  NOT NULL,
	sha256  text    COLLATE "C" NOT NULL,
	record  bigint  NOT NULL,
	held    boolean NOT NULL DEFAULT false,
	PRIMARY KEY (site_id, channel, day)
);
CREATE INDEX attested_and_not_held ON wetside.attested(site_id, day) WHERE NOT held;

-- The deletions that a book records: nothing of the channel before the day is there.
CREATE TABLE wetside.deletion (
	site_id integer NOT NULL REFERENCES wetside.site(id),
	channel text    COLLATE "C" NOT NULL,
	before  bigint  NOT NULL,
	record  bigint  NOT NULL,
	PRIMARY KEY (site_id, record)
);

CREATE FUNCTION wetside.never() RETURNS trigger LANGUAGE plpgsql
	AS $$ BEGIN RAISE EXCEPTION '%', TG_ARGV[0] USING ERRCODE = 'WS001'; END $$;
CREATE TRIGGER record_is_never_changed BEFORE UPDATE ON wetside.record
	FOR EACH ROW EXECUTE FUNCTION wetside.never('a record is never changed: write a correction');
CREATE TRIGGER record_is_never_deleted BEFORE DELETE ON wetside.record
	FOR EACH ROW EXECUTE FUNCTION wetside.never('a record is never deleted');
CREATE TRIGGER record_is_never_emptied BEFORE TRUNCATE ON wetside.record
	FOR EACH STATEMENT EXECUTE FUNCTION wetside.never('a record is never deleted');
CREATE TRIGGER channel_keeps_its_code BEFORE UPDATE ON wetside.channel
	FOR EACH ROW WHEN (OLD.id <> NEW.id OR OLD.code <> NEW.code) EXECUTE FUNCTION wetside.never('a channel keeps its name and its number for ever');
CREATE TRIGGER word_is_never_changed BEFORE UPDATE OR DELETE ON wetside.word
	FOR EACH ROW EXECUTE FUNCTION wetside.never('a word that samples refer to is never changed');
CREATE TRIGGER block_before_is_never_changed BEFORE UPDATE OR DELETE ON wetside.block_before
	FOR EACH ROW EXECUTE FUNCTION wetside.never('what a block was before is never changed');

-- The hash of a record: see the package wetside/daemon/history/book.
CREATE FUNCTION wetside.hash(previous text, body text) RETURNS text LANGUAGE sql IMMUTABLE
	AS $$ SELECT encode(sha256(convert_to(previous || E'\n' || body || E'\n', 'UTF8')), 'hex') $$;

-- A record continues the book of its site or is refused.
CREATE FUNCTION wetside.continue_book() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
	previous text := repeat('0', 64);
	said json := NEW.body::json;
BEGIN
	IF NEW.number <> 1 THEN
		SELECT hash INTO previous FROM wetside.record WHERE site_id = NEW.site_id AND number = NEW.number - 1;
		IF NOT FOUND THEN
			RAISE EXCEPTION 'record % came before record %', NEW.number, NEW.number - 1 USING ERRCODE = 'WS002';
		END IF;
	END IF;
	IF NEW.hash IS DISTINCT FROM wetside.hash(previous, NEW.body) OR (said->>'number')::bigint IS DISTINCT FROM NEW.number THEN
		RAISE EXCEPTION 'record % does not continue the book that is kept here', NEW.number USING ERRCODE = 'WS003';
	END IF;
	NEW.kind := said->>'kind';
	NEW.room := coalesce(said->>'room', '');
	NEW.at_ms := (extract(epoch FROM (said->>'at')::timestamptz) * 1000)::bigint;
	NEW.taken_at := clock_timestamp();
	RETURN NEW;
END $$;
CREATE TRIGGER record_continues_the_book BEFORE INSERT ON wetside.record
	FOR EACH ROW EXECUTE FUNCTION wetside.continue_book();

-- The number of the UTC day of a key of day, and the first key of block of such a key.
CREATE FUNCTION wetside.day_of(key bigint) RETURNS bigint LANGUAGE sql IMMUTABLE
	AS $$ SELECT (key & 4294967295) - 2147483648 $$;
CREATE FUNCTION wetside.first_block(key bigint) RETURNS bigint LANGUAGE sql IMMUTABLE
	AS $$ SELECT ((key >> 32) << 32) + wetside.day_of(key) * 96 + 2147483648 $$;

-- What the rows of a day of a channel come to: see the package wetside/daemon/history/book.
CREATE FUNCTION wetside.fingerprint(of_site integer, of_key bigint) RETURNS text LANGUAGE sql STABLE AS $$
	SELECT encode(sha256(convert_to(coalesce(string_agg(line, '' ORDER BY place, a, b, c), ''), 'UTF8')), 'hex') FROM (
		SELECT 1 AS place, key AS a, 0::bigint AS b, '' COLLATE "C" AS c, 'block ' || key || ' ' || encode(samples, 'hex') || E'\n' AS line
			FROM wetside.block WHERE site_id = of_site AND key >= wetside.first_block(of_key) AND key < wetside.first_block(of_key) + 96
		UNION ALL
		SELECT 2, key, 0, '', 'day ' || key || ' ' || encode(quarters, 'hex') || E'\n'
			FROM wetside.day WHERE site_id = of_site AND key = of_key
		UNION ALL
		SELECT 3, from_ms, to_ms, cause, 'gap ' || from_ms || ' ' || to_ms || ' ' || cause || E'\n'
			FROM wetside.gap WHERE site_id = of_site AND channel = of_key >> 32
			AND to_ms >= wetside.day_of(of_key) * 86400000 AND to_ms < (wetside.day_of(of_key) + 1) * 86400000
	) AS lines
$$;

-- Of a record that attests days: what it says of each channel, and whether that is here already.
CREATE FUNCTION wetside.note_attested() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
	of_day bigint := (NEW.body::json->'content'->>'day')::date - date '1970-01-01';
BEGIN
	INSERT INTO wetside.attested(site_id, channel, day, sha256, record, held)
		SELECT NEW.site_id, x->>'channel', of_day, x->>'sha256', NEW.number,
			coalesce(wetside.fingerprint(NEW.site_id, (c.code << 32) + of_day + 2147483648) = x->>'sha256', false)
		FROM json_array_elements(NEW.body::json->'content'->'channels') AS x
		LEFT JOIN wetside.channel c ON c.site_id = NEW.site_id AND c.id = x->>'channel'
		ON CONFLICT (site_id, channel, day) DO UPDATE SET sha256 = EXCLUDED.sha256, record = EXCLUDED.record, held = EXCLUDED.held;
	RETURN NULL;
END $$;
CREATE TRIGGER record_attests AFTER INSERT ON wetside.record
	FOR EACH ROW WHEN (NEW.kind = 'samples attested') EXECUTE FUNCTION wetside.note_attested();

-- Of a record by which samples were deleted at the site: they are deleted here as well.
CREATE FUNCTION wetside.note_deleted() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
	of_channel text := NEW.body::json->'content'->>'channel';
	before_day bigint := (NEW.body::json->'content'->>'before')::date - date '1970-01-01';
	of_code bigint;
BEGIN
	INSERT INTO wetside.deletion VALUES (NEW.site_id, of_channel, before_day, NEW.number);
	DELETE FROM wetside.attested WHERE site_id = NEW.site_id AND channel = of_channel AND day < before_day;
	SELECT code INTO of_code FROM wetside.channel WHERE site_id = NEW.site_id AND id = of_channel;
	DELETE FROM wetside.block WHERE site_id = NEW.site_id AND key >= of_code << 32 AND key < wetside.first_block((of_code << 32) + before_day + 2147483648);
	DELETE FROM wetside.day WHERE site_id = NEW.site_id AND key >= of_code << 32 AND key < (of_code << 32) + before_day + 2147483648;
	DELETE FROM wetside.unattested WHERE site_id = NEW.site_id AND key >= of_code << 32 AND key < (of_code << 32) + before_day + 2147483648;
	DELETE FROM wetside.gap WHERE site_id = NEW.site_id AND channel = of_code AND to_ms < before_day * 86400000;
	RETURN NULL;
END $$;
CREATE TRIGGER record_deletes AFTER INSERT ON wetside.record
	FOR EACH ROW WHEN (NEW.kind = 'samples deleted') EXECUTE FUNCTION wetside.note_deleted();

-- Samples are deleted by a record of the book alone.
CREATE FUNCTION wetside.delete_by_record() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
	IF NOT EXISTS (
		SELECT 1 FROM wetside.deletion d JOIN wetside.channel c ON c.site_id = d.site_id AND c.id = d.channel
		WHERE d.site_id = OLD.site_id AND c.code = OLD.key >> 32
		AND OLD.key < wetside.first_block((c.code << 32) + d.before + 2147483648)
	) THEN
		RAISE EXCEPTION 'samples are deleted by a record of the book alone' USING ERRCODE = 'WS001';
	END IF;
	RETURN OLD;
END $$;
CREATE TRIGGER block_is_deleted_by_a_record BEFORE DELETE ON wetside.block
	FOR EACH ROW EXECUTE FUNCTION wetside.delete_by_record();

CREATE FUNCTION wetside.keep_block() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
	INSERT INTO wetside.block_before(site_id, key, samples) VALUES (OLD.site_id, OLD.key, OLD.samples);
	RETURN NEW;
END $$;
CREATE TRIGGER block_is_kept_when_replaced BEFORE UPDATE ON wetside.block
	FOR EACH ROW WHEN (OLD.samples IS DISTINCT FROM NEW.samples) EXECUTE FUNCTION wetside.keep_block();

-- Everybody who may read reads all sites; whoever writes writes the rows of the site that was named.
DO $$
DECLARE
	name text;
BEGIN
	FOREACH name IN ARRAY ARRAY['heard', 'refusal', 'record', 'channel', 'word', 'block', 'block_before', 'day', 'gap', 'unattested', 'attested', 'deletion'] LOOP
		EXECUTE format('ALTER TABLE wetside.%I ENABLE ROW LEVEL SECURITY', name);
		EXECUTE format('ALTER TABLE wetside.%I FORCE ROW LEVEL SECURITY', name);
		EXECUTE format('CREATE POLICY read_all ON wetside.%I FOR SELECT USING (true)', name);
		EXECUTE format('CREATE POLICY add_own ON wetside.%I FOR INSERT WITH CHECK (site_id = wetside.writing_site())', name);
		EXECUTE format('CREATE POLICY change_own ON wetside.%I FOR UPDATE USING (site_id = wetside.writing_site())', name);
		EXECUTE format('CREATE POLICY delete_own ON wetside.%I FOR DELETE USING (site_id = wetside.writing_site())', name);
	END LOOP;
END $$;

-- One site as its own file: the site that the setting wetside.site names.
CREATE SCHEMA site;
CREATE VIEW site.record AS SELECT number, hash, body, kind, room, at_ms FROM wetside.record WHERE site_id = wetside.writing_site();
CREATE VIEW site.channel AS SELECT code, id, room, name, kind, unit, silence_ms, in_service FROM wetside.channel WHERE site_id = wetside.writing_site();
CREATE VIEW site.word AS SELECT code, text FROM wetside.word WHERE site_id = wetside.writing_site();
CREATE VIEW site.block AS SELECT key, samples FROM wetside.block WHERE site_id = wetside.writing_site();
CREATE VIEW site.day AS SELECT key, quarters FROM wetside.day WHERE site_id = wetside.writing_site();
CREATE VIEW site.gap AS SELECT id, channel, from_ms, to_ms, cause FROM wetside.gap WHERE site_id = wetside.writing_site();
CREATE VIEW site.unattested AS SELECT key, changes FROM wetside.unattested WHERE site_id = wetside.writing_site();
CREATE VIEW site.alive AS SELECT alive_ms AS at_ms FROM wetside.heard WHERE site_id = wetside.writing_site();
-- Samples come sealed, so nothing is in the tail.
CREATE VIEW site.tail AS SELECT 0::bigint AS id, ''::bytea AS samples WHERE false;

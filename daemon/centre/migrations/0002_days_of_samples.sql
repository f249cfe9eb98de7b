-- Puts what a site sent of a day of a channel beside what is here. It gives 'held' where the
-- day is now what the book attests, 'free' where the book does not speak of the day or the
-- site has added something since, and 'other' where the day is not what the book attests.
CREATE FUNCTION wetside.put_day(
	of_site integer, of_key bigint, keys bigint[], packed bytea[], roll_up bytea,
	gap_ids bigint[], gap_from bigint[], gap_to bigint[], gap_cause text[], waiting boolean
) RETURNS text LANGUAGE plpgsql AS $$
DECLARE
	of_code bigint := of_key >> 32;
	of_day bigint := wetside.day_of(of_key);
	of_channel text;
	promised text;
	fits boolean;
BEGIN
	SELECT id INTO of_channel FROM wetside.channel c WHERE c.site_id = of_site AND c.code = of_code;
	IF NOT FOUND THEN
		RAISE EXCEPTION 'samples came of a channel % that was not described', of_code USING ERRCODE = 'WS004';
	END IF;
	IF EXISTS (SELECT 1 FROM unnest(keys) AS k WHERE k < wetside.first_block(of_key) OR k >= wetside.first_block(of_key) + 96)
		OR EXISTS (SELECT 1 FROM unnest(gap_to) AS g WHERE g < of_day * 86400000 OR g >= (of_day + 1) * 86400000) THEN
		RAISE EXCEPTION 'samples came of another day than they were sent for' USING ERRCODE = 'WS004';
	END IF;

	INSERT INTO wetside.block(site_id, key, samples) SELECT of_site, k, p FROM unnest(keys, packed) AS x(k, p)
		ON CONFLICT (site_id, key) DO UPDATE SET samples = EXCLUDED.samples WHERE block.samples <> EXCLUDED.samples;
	IF roll_up IS NOT NULL THEN
		INSERT INTO wetside.day(site_id, key, quarters) VALUES (of_site, of_key, roll_up)
			ON CONFLICT (site_id, key) DO UPDATE SET quarters = EXCLUDED.quarters WHERE day.quarters <> EXCLUDED.quarters;
	END IF;
	DELETE FROM wetside.gap g WHERE g.site_id = of_site AND g.channel = of_code AND g.id <> ALL (gap_ids)
		AND g.to_ms >= of_day * 86400000 AND g.to_ms < (of_day + 1) * 86400000;
	INSERT INTO wetside.gap(site_id, id, channel, from_ms, to_ms, cause)
		SELECT of_site, i, of_code, f, t, c FROM unnest(gap_ids, gap_from, gap_to, gap_cause) AS x(i, f, t, c)
		ON CONFLICT (site_id, id) DO UPDATE SET channel = EXCLUDED.channel, from_ms = EXCLUDED.from_ms, to_ms = EXCLUDED.to_ms, cause = EXCLUDED.cause;

	SELECT a.sha256 INTO promised FROM wetside.attested a WHERE a.site_id = of_site AND a.channel = of_channel AND a.day = of_day;
	IF NOT FOUND THEN
		RETURN 'free';
	END IF;
	fits := wetside.fingerprint(of_site, of_key) = promised;
	UPDATE wetside.attested a SET held = fits WHERE a.site_id = of_site AND a.channel = of_channel AND a.day = of_day AND a.held <> fits;
	RETURN CASE WHEN fits THEN 'held' WHEN waiting THEN 'free' ELSE 'other' END;
END $$;

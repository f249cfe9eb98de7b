#!/usr/bin/env python3
"""Computes the totals of a report's pack again, from its tables alone.

    python3 recompute.py FOLDER

An independent reading: it knows the columns, not the program, and follows no recipe
that the pack prints. It needs nothing but Python's standard library. It ends with 1
where a figure differs, a total is unknown here, or a file fails its checksum.
"""
import csv
import datetime
import hashlib
import pathlib
import statistics
import sys


class Pack:
    """The tables of a folder, each a list of rows by the names of their columns."""

    def __init__(self, folder):
        self.folder = pathlib.Path(folder)

    def __getitem__(self, name):
        with open(self.folder / (name + ".csv"), newline="", encoding="utf-8") as file:
            return list(csv.DictReader(file))


def number(text):
    return float(text or 0)


def total(rows, column):
    return sum(number(r[column]) for r in rows)


def of(rows, column):
    """The numbers of a column, without the cells in which nothing is known."""
    return [float(r[column]) for r in rows if r[column] != ""]


def unknown_flow(sessions):
    """Seconds of uncovered trays in which nobody knew the flow."""
    seconds = 0.0
    for s in sessions:
        silent = max(number(s["uncovered_s"]) - number(s["flow_known_s"]), 0.0)
        seconds += min(silent, number(s["unproven_s"]))
    return seconds


def entries(chemistry, kind):
    return [e for e in chemistry if e["counts_as"] == kind]


def litres(chemistry, kind):
    return total(entries(chemistry, kind), "volume_ml") / 1000


def minutes(seconds, pick):
    return pick(seconds) / 60 if seconds else None


def recomputed(pack):
    """Every total of a pack by its name; None where nothing is known."""
    sessions, coverage, gaps = pack["sessions"], pack["coverage"], pack["gaps"]
    alarms, chemistry, silver, late = pack["alarms"], pack["chemistry"], pack["silver"], pack["late-and-corrected"]
    lowest, typical = of(sessions, "lowest_air_changes_per_hour"), of(sessions, "typical_air_changes_per_hour")
    waited = of(alarms, "waited_s")
    waiting = [a for a in alarms if a["waited_s"] == ""]
    required = total(coverage, "required_s")
    lines = [s["us_federal_line"].split()[0] for s in silver]
    return {
        "sessions": len(sessions),
        "trays uncovered": total(sessions, "uncovered_s") / 60,
        "trays uncovered and flow proven": (total(sessions, "uncovered_s") - total(sessions, "unproven_s")) / 60,
        "trays uncovered without proven flow": total(sessions, "unproven_s") / 60,
        "trays uncovered, airflow unknown": unknown_flow(sessions) / 60,
        "flow proven in sessions": total(sessions, "flow_proven_s") / 60,
        "lowest air changes": min(lowest, default=None),
        "typical air changes": statistics.median(typical) if typical else None,
        "readings valid in sessions, over all channels": 100 * total(coverage, "valid_s") / required if required else None,
        "longest gap of any channel in a session": minutes(of(coverage, "longest_gap_s"), max) if required else None,
        "gaps in sessions": len(gaps),
        "alarms": len(alarms),
        "time to acknowledge, median": minutes(waited, statistics.median),
        "time to acknowledge, longest": minutes(waited, max),
        "alarms never acknowledged": sum(a["left_before_answer"] == "no" for a in waiting),
        "alarms unanswered when the room was left": sum(a["left_before_answer"] == "yes" for a in waiting),
        "alarms snoozed or switched off": len(pack["alarms-aside"]),
        "batches mixed": len(entries(chemistry, "batch mixed")),
        "volume mixed": litres(chemistry, "batch mixed"),
        "tests of baths and prints": len(entries(chemistry, "test done")),
        "volume discarded": litres(chemistry, "discarded"),
        "other waste added": litres(chemistry, "waste added"),
        "waste containers collected": len(entries(chemistry, "waste collected")),
        "silver results": len(silver),
        "silver results at or above the US federal limit": lines.count("at"),
        "silver results inconclusive against that limit": lines.count("cannot"),
        "late entries": sum(r["corrects"] == "" for r in late),
        "corrections": sum(r["corrects"] != "" for r in late),
        "people (once per role)": len(pack["people"]),
        "duties overdue at the end": sum(d["overdue"] == "yes" for d in pack["duties"]),
    }


def of_minutes(pack):
    """The air changes of each session by the minutes of air.csv, beside what sessions.csv states."""
    means = {}
    for minute in pack["air"]:
        if minute["mean_air_changes_per_hour"] != "":
            means.setdefault(minute["session"], []).append(float(minute["mean_air_changes_per_hour"]))
    for s in pack["sessions"]:
        got = means.get(s["session"])
        if got:
            yield "session " + s["session"] + ": lowest air changes", s["lowest_air_changes_per_hour"], min(got)
            yield "session " + s["session"] + ": typical air changes", s["typical_air_changes_per_hour"], statistics.median(got)


def of_gaps(pack):
    """What is missing of each channel in a session, by the rows of gaps.csv."""
    missing = {}
    for gap in pack["gaps"]:
        key = gap["session"], gap["channel"]
        missing[key] = missing.get(key, 0.0) + number(gap["missing_s"])
    for c in pack["coverage"]:
        name = "session " + c["session"] + ": seconds missing of " + c["channel"]
        yield name, c["missing_s"], missing.get((c["session"], c["channel"]), 0.0)
        yield name + ", valid and missing", c["required_s"], number(c["valid_s"]) + number(c["missing_s"])


def moment(text):
    return datetime.datetime.fromisoformat(text.replace("Z", "+00:00"))


def of_disputes(pack):
    """Readings of a flow in minutes that lie wholly in a time in which the signs of the air disagreed: none may count."""
    disputes = [s for s in pack["air-states"] if s["state"] == "readings disagree" and s["to_utc"]]
    for minute in pack["air"]:
        begin = moment(minute["minute_utc"])
        end = begin + datetime.timedelta(minutes=1)
        for s in disputes:
            if s["session"] == minute["session"] and moment(s["from_utc"]) <= begin and end <= moment(s["to_utc"]):
                yield "readings counted in the disputed minute " + minute["minute_utc"], minute["readings"], 0


def same(stated, computed):
    if stated == "" or computed is None:
        return stated == "" and computed is None
    return abs(float(stated) - computed) <= 0.001


def altered(folder):
    """The files whose checksum is another than the pack states."""
    for line in (pathlib.Path(folder) / "SHA256SUMS").read_text(encoding="utf-8").splitlines():
        digest, name = line.split("  ", 1)
        file = pathlib.Path(folder) / name
        if not file.is_file() or hashlib.sha256(file.read_bytes()).hexdigest() != digest:
            yield name


def main(folder):
    pack, wrong = Pack(folder), 0
    for name in altered(folder):
        wrong += 1
        print("ALTERED", name)
    totals = recomputed(pack)
    stated = {row["total"]: row["value"] for row in pack["totals"]}
    for name in sorted(stated.keys() ^ totals.keys()):
        wrong += 1
        print("ONLY ONE SIDE KNOWS", name)
    rows = [(name, stated[name], totals[name]) for name in stated if name in totals]
    details = [*of_minutes(pack), *of_gaps(pack), *of_disputes(pack)]
    for name, value, computed in rows + details:
        if not same(value, computed):
            wrong += 1
            print(f"DIFFERS {name}: stated {value!r}, computed {computed}")
    print(f"{len(rows)} totals and {len(details)} figures of sessions computed again, {wrong} wrong")
    return 1 if wrong or len(rows) < 20 else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]) if len(sys.argv) == 2 else __doc__)

// The calendar's file, held against RFC 5545 by its text.
import assert from "node:assert/strict";
import { test } from "node:test";
import { calendarOf } from "../src/calendar.ts";

const entry = {
  uid: "a@wideberth",
  title: "Walk with Kessa; slowly, please",
  begins: new Date("2026-11-30T07:10:00Z"),
  ends: new Date("2026-11-30T07:40:00Z"),
  place: { name: "Weaver Row 12, Tannerswick", lat: 47.2022, lon: -7.0018 },
  text: `First line\nsecond, ${"a long word of ünïcode ".repeat(8)}`,
  url: "https://example.test/#/plan?from=47.2,-7.0&minutes=30",
  remindMin: 15,
};

test("a calendar's file keeps to RFC 5545", async () => {
  const file = await calendarOf([entry, { ...entry, uid: "b@wideberth" }], new Date("2026-11-29T12:00:00Z"));
  const lines = file.split("\r\n");
  assert.equal(lines.pop(), "", "the last line ends, too");
  assert.ok(!file.replaceAll("\r\n", "").match(/[\r\n]/), "3.1: lines end with CRLF and nothing else");
  for (const l of lines) assert.ok(Buffer.byteLength(l) <= 75, `3.1: ${Buffer.byteLength(l)} octets in a line`);
  const whole = file.replaceAll(/\r\n[ \t]/g, "").split("\r\n"); // 3.1: unfolded
  assert.deepEqual(whole.slice(0, 3), ["BEGIN:VCALENDAR", "PRODID:-//Wideberth//EN", "VERSION:2.0"]); // 3.6
  for (const need of [
    "UID:a@wideberth",
    "DTSTAMP:20261129T120000Z",
    "DTSTART:20261130T071000Z",
    "DTEND:20261130T074000Z",
  ])
    assert.ok(whole.includes(need), `3.6.1 and 3.3.5: ${need}`);
  assert.ok(whole.includes("SUMMARY:Walk with Kessa\\; slowly\\, please"), "3.3.11: escaped");
  assert.ok(
    whole.some((l) => l.startsWith("DESCRIPTION:First line\\nsecond\\, a long word of ünïcode a long")),
    "3.3.11",
  );
  assert.ok(whole.includes("GEO:47.2022;-7.0018"), "3.8.1.6");
  assert.ok(whole.includes("TRIGGER:-PT15M"), "3.8.6.3");
  assert.equal(whole.filter((l) => l === "BEGIN:VEVENT").length, 2);
  assert.equal(whole.filter((l) => l === "END:VALARM").length, 2);
});

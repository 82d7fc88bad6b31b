// A file that calendars take in (RFC 5545), made on the device: a chosen hour, a visit, a
// volunteer's turn.
import { download } from "./download.ts";

export interface Entry {
  /** the same for the same thing, so that a second file replaces the first */
  uid: string;
  title: string;
  begins: Date;
  ends: Date;
  place?: { name: string; lat: number; lon: number } | undefined;
  text?: string;
  /** where the page shows it */
  url?: string;
  /** minutes before it at which the device reminds */
  remindMin?: number;
}

/** The file of some entries. Times are in UTC: calendars show them in their own zone. */
export async function calendarOf(entries: Entry[], now: Date): Promise<string> {
  const { default: ICAL } = await import("ical.js");
  ICAL.foldLength = 74; // and a space before what is folded: 75 octets
  const whole = new ICAL.Component(["vcalendar", [], []]);
  whole.updatePropertyWithValue("prodid", "-//Wideberth//EN");
  whole.updatePropertyWithValue("version", "2.0");
  for (const e of entries) {
    const c = new ICAL.Component("vevent");
    const put = (name: string, value: unknown) => c.updatePropertyWithValue(name, value as string);
    put("uid", e.uid);
    put("dtstamp", ICAL.Time.fromJSDate(now, true));
    put("dtstart", ICAL.Time.fromJSDate(e.begins, true));
    put("dtend", ICAL.Time.fromJSDate(e.ends, true));
    put("summary", e.title);
    if (e.text) put("description", e.text);
    if (e.url) put("url", e.url);
    if (e.place) {
      put("location", e.place.name);
      put("geo", [e.place.lat, e.place.lon]);
    }
    if (e.remindMin) {
      const a = new ICAL.Component("valarm");
      a.updatePropertyWithValue("action", "DISPLAY");
      a.updatePropertyWithValue("description", e.title);
      a.updatePropertyWithValue("trigger", ICAL.Duration.fromSeconds(-60 * e.remindMin));
      c.addSubcomponent(a);
    }
    whole.addSubcomponent(c);
  }
  return `${whole.toString()}\r\n`;
}

/** Gives somebody the file. */
export async function toCalendar(name: string, entries: Entry[]): Promise<void> {
  download(`${name}.ics`, new Blob([await calendarOf(entries, new Date())], { type: "text/calendar" }));
}

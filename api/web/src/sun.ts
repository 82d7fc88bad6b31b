// How high the sun stands, for dark colours from the end of civil twilight on:
// the low-precision solar position of the Astronomical Almanac, good to 0.01
// degrees between 1950 and 2050, worked out here so that it needs no network.

const rad = Math.PI / 180;
const civilTwilightDeg = -6;

/** Altitude of the sun's centre in degrees, without refraction. */
export function sunAltitude(t: Date, lat: number, lon: number): number {
  const n = t.getTime() / 864e5 - 10957.5; // days from noon of 1 January 2000
  const g = (357.528 + 0.9856003 * n) * rad;
  const lambda = (280.46 + 0.9856474 * n + 1.915 * Math.sin(g) + 0.02 * Math.sin(2 * g)) * rad;
  const obliquity = (23.439 - 0.0000004 * n) * rad;
  const ascension = Math.atan2(Math.cos(obliquity) * Math.sin(lambda), Math.cos(lambda));
  const declination = Math.asin(Math.sin(obliquity) * Math.sin(lambda));
  const sidereal = (280.46062 + 360.98564737 * n + lon) * rad;
  return (
    Math.asin(
      Math.sin(lat * rad) * Math.sin(declination) +
        Math.cos(lat * rad) * Math.cos(declination) * Math.cos(sidereal - ascension),
    ) / rad
  );
}

/** Whether civil twilight has ended there. */
export const isNight = (t: Date, lat: number, lon: number): boolean => sunAltitude(t, lat, lon) < civilTwilightDeg;

import { useEffect, useState } from "preact/hooks";

/** Draws the caller anew every so often, for what depends on the hour; gives a number
 * that changes with it, for parts that are drawn anew only when they are told. */
export function useTick(everyMS: number, unless: () => boolean = () => false): number {
  const [n, tick] = useState(0);
  useEffect(() => {
    const t = setInterval(() => unless() || tick((k) => k + 1), everyMS);
    return () => clearInterval(t);
  }, []);
  return n;
}

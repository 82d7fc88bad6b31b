// Package briefing tells a plan in words: it owns every English text that people
// read, and how numbers are rounded for them. Packages below answer with reasons
// and numbers; nothing here knows of HTTP or of the clock.
package briefing

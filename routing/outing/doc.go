// Package outing plans walks of many dogs from one gate so that no two that must
// keep apart can meet, whatever lateness and pace within the slack. It hides the pool
// of loops, the table of start differences that bring two walks too near, and the
// search by ruin and recreate with its explanations. Package replay checks its
// timetables and shares no code with it.
package outing

// Package drive says how long a car takes from one place to another: the roads that
// a stranger's car may use, each in the directions it is open in. It hides how they
// are made from streets and what a minute on them rests on. No traffic of the hour, and
// of turn bans those at a junction for all hours: nobody has held the minutes against a
// clock.
package drive

// Package training finds where triggers can be watched from a chosen distance and
// puts visits to such places in an order that gets nearer step by step. It hides the
// sieve of places (sight, standing room, ways out, what else comes near), the
// pricing of the ways there and home, and the search for a chain of steps.
package training

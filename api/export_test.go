package api

// ReadGPX lets tests read a file without a server.
var ReadGPX = readGPX

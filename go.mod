module readback

go 1.26.8

require golang.org/x/text v0.44.0 // indirect

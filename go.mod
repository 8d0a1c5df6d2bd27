module readback

go 1.26.8

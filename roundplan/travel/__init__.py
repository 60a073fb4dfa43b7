"""Facts of travel: distances, roads, daylight, working calendar; no timetables."""

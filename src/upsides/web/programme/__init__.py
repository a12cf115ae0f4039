"""Races to come: the programme, one race, a horse's races, deadlines, what a win costs, race days, races let go."""

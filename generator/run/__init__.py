"""The run as a stepped integration: speeding up, the opening of a parachute, the stop. SI floats."""

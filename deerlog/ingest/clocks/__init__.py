"""What the cameras showed, to instants; and which clocks look wrong."""

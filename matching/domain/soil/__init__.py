"""What evidence says of a soil: from jars, hands, laboratories and walls to a clay share."""

"""Movement: from acceleration and angular rate to moving, rhythm and level. Pure functions on a uniform grid."""

"""The week ahead: what levels, leaves and findings say, as small steps within every limit, or as conflicts."""

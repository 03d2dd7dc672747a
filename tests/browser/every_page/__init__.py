"""Every page of the application: how each is reached, measured by axe-core, and photographed."""

"""Who may reach the page from elsewhere than this computer: doors, codes, devices."""

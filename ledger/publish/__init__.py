"""What is published: the site database, its pages and their drawings."""

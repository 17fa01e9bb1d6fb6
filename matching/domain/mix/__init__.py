"""Mix design: recipes, buckets, batches, and what knowing the soil is worth."""

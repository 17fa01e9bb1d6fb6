"""Tests of the forms in which plans are taken along."""

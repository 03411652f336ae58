"""The light of a photo: true colours from camera colours, shade and what is burnt out."""

"""The page that a person types readings into, pose by pose, served from the own machine."""

-- Textures of the layers of every site, where they are told.
SELECT site, depth_cm, texture FROM layers WHERE texture IS NOT NULL

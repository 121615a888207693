ATTACH $path AS target

-- Frees the stepping stones. From here on no file, no network, no extension, no change of settings.
DROP TABLE many;
DROP TABLE tree;
DROP TABLE device_count;
DROP TABLE by_placeholder;
RESET disabled_optimizers;
SET enable_external_access = false;
SET lock_configuration = true;

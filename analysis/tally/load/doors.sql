-- Frees the stepping stones. From here on no file, no network, no extension, no change of settings.
DROP TABLE fault_word;
DROP TABLE tree;
DROP TABLE device_count;
DROP TABLE placeholder;
RESET disabled_optimizers;
SET enable_external_access = false;
SET lock_configuration = true;

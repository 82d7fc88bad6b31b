-- What was said of a dog before any walk had names of its own in the bodies; now
-- they are those of every other distance. A text that somebody wrote cannot match:
-- in there the quotation marks stand behind a backslash.
UPDATE dog SET body = replace(replace(replace(replace(body, '"WorkingM":', '"working_m":'), '"ReactionM":', '"reaction_m":'), '"LogSD":', '"log_sd":'), '"Known":', '"known":');
UPDATE distance_change SET body = replace(replace(replace(replace(body, '"WorkingM":', '"working_m":'), '"ReactionM":', '"reaction_m":'), '"LogSD":', '"log_sd":'), '"Known":', '"known":');

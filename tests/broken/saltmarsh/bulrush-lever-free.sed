# Nobody says that the hand stays on the condition lever.
# of: bulrush
# finds: lever-held
/^ *hold  *condition/d
/^ *release condition/d

# A promise without a way out.
# finds: no-otherwise
s/expect  *fuel-pressure normal within 10 s, otherwise turn to fuel-leak/expect  fuel-pressure normal within 10 s/
